-- Products and blends of them.

CREATE TABLE product (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL,
  note TEXT NOT NULL,
  kind TEXT NOT NULL,
  density_kg_per_l REAL,
  thousand_kernel_g REAL,
  germination_pct REAL,
  lot TEXT NOT NULL,
  rides_on TEXT REFERENCES product (id), -- the seed that a treatment or an inoculant is on
  dose TEXT NOT NULL, -- per mass of that seed, such as 2 ml/kg
  n_pct REAL, -- all four or none
  p2o5_pct REAL,
  k2o_pct REAL,
  s_pct REAL,
  registration TEXT NOT NULL,
  substances TEXT NOT NULL, -- JSON list of {"name", "content"}
  max_rate TEXT NOT NULL,
  max_applications INTEGER, -- a season
  reentry_h REAL,
  pre_harvest_days INTEGER,
  blend_by TEXT NOT NULL CHECK (blend_by IN ('', 'mass', 'volume'))
) STRICT;
CREATE UNIQUE INDEX product_name ON product (name_key) WHERE archived = 0;
CREATE INDEX product_rides_on ON product (rides_on);

CREATE TABLE blend_part (
  blend TEXT NOT NULL REFERENCES product (id) ON DELETE CASCADE,
  n INTEGER NOT NULL, -- order in the blend
  part TEXT NOT NULL REFERENCES product (id),
  share REAL NOT NULL,
  PRIMARY KEY (blend, n)
) STRICT;
CREATE INDEX blend_part_part ON blend_part (part);
