-- Land, machines and people.

CREATE TABLE gone ( -- what was removed: its id is not given away again
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL -- the last one it had
) STRICT;

CREATE TABLE field (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL, -- the name as it is compared
  note TEXT NOT NULL,
  area_m2 REAL, -- of the outline, on the ellipsoid
  outline BLOB, -- well-known binary, a MultiPolygon in WGS 84 degrees
  CHECK ((area_m2 IS NULL) = (outline IS NULL))
) STRICT;
CREATE UNIQUE INDEX field_name ON field (name_key) WHERE archived = 0;

CREATE TABLE season (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  field TEXT NOT NULL REFERENCES field (id),
  crop TEXT NOT NULL,
  year INTEGER NOT NULL, -- 0 = by dates
  start_date TEXT NOT NULL, -- 2026-03-01, '' = by year
  end_date TEXT NOT NULL, -- '' = open, or by year
  target_yield TEXT NOT NULL, -- with its unit, such as 6.5 t/ha; '' = none
  note TEXT NOT NULL
) STRICT;
CREATE INDEX season_field ON season (field);

CREATE TABLE person (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL,
  licence TEXT NOT NULL,
  note TEXT NOT NULL
) STRICT;
CREATE UNIQUE INDEX person_name ON person (name_key) WHERE archived = 0;

CREATE TABLE implement (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL,
  note TEXT NOT NULL,
  operation TEXT NOT NULL,
  mount TEXT NOT NULL CHECK (mount IN ('rigid', 'towed')),
  antenna_to_hitch_m REAL NOT NULL,
  antenna_right_m REAL NOT NULL,
  hitch_to_axle_m REAL NOT NULL,
  hitch_to_bar_m REAL NOT NULL,
  bar_right_m REAL NOT NULL,
  sections_m TEXT NOT NULL -- JSON list of widths, left to right
) STRICT;
CREATE UNIQUE INDEX implement_name ON implement (name_key) WHERE archived = 0;

CREATE TABLE tractor (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL,
  note TEXT NOT NULL,
  antenna_right_m REAL NOT NULL,
  antenna_to_hitch_m REAL NOT NULL, -- to the drawbar's pin
  antenna_to_linkage_m REAL -- to the ends of the lower links; NULL = not measured
) STRICT;
CREATE UNIQUE INDEX tractor_name ON tractor (name_key) WHERE archived = 0;
