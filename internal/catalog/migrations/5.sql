-- Marks, whichever season they are of.

CREATE TABLE mark (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)), -- withdrawn
  field TEXT REFERENCES field (id),
  field_name TEXT NOT NULL, -- of a field that is not in the catalogue
  kind TEXT NOT NULL,
  note TEXT NOT NULL,
  lon_deg REAL,
  lat_deg REAL,
  left_at TEXT NOT NULL, -- 2026-05-14T13:05:10.2Z
  origin TEXT NOT NULL, -- SESSION#N, '' = in no session
  done INTEGER NOT NULL CHECK (done IN (0, 1)),
  settled_at TEXT NOT NULL, -- '' = never
  settled_by TEXT NOT NULL,
  CHECK ((lon_deg IS NULL) = (lat_deg IS NULL))
) STRICT;
CREATE INDEX mark_field ON mark (field);
CREATE INDEX mark_open ON mark (done) WHERE archived = 0;
CREATE UNIQUE INDEX mark_origin ON mark (origin) WHERE origin <> '';

CREATE TABLE mark_session ( -- recorded sessions whose marks are all in the table above
  session TEXT PRIMARY KEY,
  corrections INTEGER NOT NULL -- bytes of its file of corrections that were looked at
) STRICT;
