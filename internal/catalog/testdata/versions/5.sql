-- A catalogue as version 5 left it.
PRAGMA application_id = 1685223266;
PRAGMA user_version = 5;
CREATE TABLE blend_part (
  blend TEXT NOT NULL REFERENCES product (id) ON DELETE CASCADE,
  n INTEGER NOT NULL, -- order in the blend
  part TEXT NOT NULL REFERENCES product (id),
  share REAL NOT NULL,
  PRIMARY KEY (blend, n)
) STRICT;
INSERT INTO "blend_part" VALUES('kettlehollowfarmmixaaaaaaa',0,'kettlehollowfarmureaaaaaaa',40.5);
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
INSERT INTO "field" VALUES('kettlehollowfarmmillpiecea',3,0,'Mill Piece','mill piece','wet in the north',177859.9,X'01060000000100000001030000000100000005000000FA7E6ABC749368BFCDCCCCCCCCAC4A40FA7E6ABC7493683FCDCCCCCCCCAC4A40FA7E6ABC7493683F5A643BDF4FAD4A40FA7E6ABC749368BF5A643BDF4FAD4A40FA7E6ABC749368BFCDCCCCCCCCAC4A40');
INSERT INTO "field" VALUES('kettlehollowfarmfarreachaa',1,1,'Far Reach','far reach','',NULL,NULL);
CREATE TABLE gone ( -- what was removed: its id is not given away again
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL -- the last one it had
) STRICT;
INSERT INTO "gone" VALUES('kettlehollowfarmgoneaaaaaa',4);
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
INSERT INTO "implement" VALUES('kettlehollowfarmdrillaaaaa',2,0,'12 m drill','12 m drill','','seeding','towed',1.8,0.0,6.0,7.2,0.0,'[3,3,3,3]');
CREATE TABLE person (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  name TEXT NOT NULL,
  name_key TEXT NOT NULL,
  licence TEXT NOT NULL,
  note TEXT NOT NULL
) STRICT;
INSERT INTO "person" VALUES('kettlehollowfarmdriveraaaa',1,0,'Driver','driver','004711','');
CREATE TABLE plan (
  id TEXT PRIMARY KEY,
  revision INTEGER NOT NULL,
  archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
  season TEXT NOT NULL REFERENCES season (id),
  step INTEGER NOT NULL, -- order in the season; what goes on together has the same
  operation TEXT NOT NULL,
  product TEXT NOT NULL REFERENCES product (id),
  rate TEXT NOT NULL, -- with its unit, such as 180 kg/ha
  tank INTEGER NOT NULL, -- 0 = any
  note TEXT NOT NULL
) STRICT;
INSERT INTO "plan" VALUES('kettlehollowfarmplanaaaaaa',1,0,'kettlehollowfarmoatsaaaaaa',1,'seeding','kettlehollowfarmfirthaaaaa','180 kg/ha',1,'');
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
, price TEXT NOT NULL DEFAULT '') STRICT;
INSERT INTO "product" VALUES('kettlehollowfarmfirthaaaaa',1,0,'Firth oats','firth oats','','seed',NULL,38.0,95.0,'A 17',NULL,'',NULL,NULL,NULL,NULL,'','[]','',NULL,NULL,NULL,'','480 EUR/t');
INSERT INTO "product" VALUES('kettlehollowfarmcoataaaaaa',1,0,'Oat coat','oat coat','','seed treatment',NULL,NULL,NULL,'','kettlehollowfarmfirthaaaaa','2 ml/kg',NULL,NULL,NULL,NULL,'','[]','',NULL,NULL,NULL,'','');
INSERT INTO "product" VALUES('kettlehollowfarmureaaaaaaa',1,0,'Urea 46','urea 46','','granular',NULL,NULL,NULL,'',NULL,'',46.0,0.0,0.0,0.0,'','[]','',NULL,NULL,NULL,'','17.5 GBP/100 kg');
INSERT INTO "product" VALUES('kettlehollowfarmguardaaaaa',1,0,'Rust guard','rust guard','','crop protection',NULL,NULL,NULL,'',NULL,'',NULL,NULL,NULL,NULL,'KH 00417','[{"name":"examplazole","content":"250 g/l"}]','1 l/ha',2,24.0,35,'','');
INSERT INTO "product" VALUES('kettlehollowfarmmixaaaaaaa',1,0,'Half urea','half urea','','blend',NULL,NULL,NULL,'',NULL,'',NULL,NULL,NULL,NULL,'','[]','',NULL,NULL,NULL,'mass','');
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
, crop_code TEXT NOT NULL DEFAULT '') STRICT;
INSERT INTO "season" VALUES('kettlehollowfarmoatsaaaaaa',1,0,'kettlehollowfarmmillpiecea','Spring oats',2026,'','','6.5 t/ha','','AVESA');
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
INSERT INTO "tractor" VALUES('kettlehollowfarmtractoraaa',1,0,'Big tractor','big tractor','',0.0,1.8,1.2);
CREATE UNIQUE INDEX field_name ON field (name_key) WHERE archived = 0;
CREATE INDEX season_field ON season (field);
CREATE UNIQUE INDEX person_name ON person (name_key) WHERE archived = 0;
CREATE UNIQUE INDEX implement_name ON implement (name_key) WHERE archived = 0;
CREATE UNIQUE INDEX tractor_name ON tractor (name_key) WHERE archived = 0;
CREATE UNIQUE INDEX product_name ON product (name_key) WHERE archived = 0;
CREATE INDEX product_rides_on ON product (rides_on);
CREATE INDEX blend_part_part ON blend_part (part);
CREATE INDEX plan_season ON plan (season);
CREATE INDEX plan_product ON plan (product);
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
CREATE TABLE mark_session ( -- recorded sessions whose marks are all in the table above
  session TEXT PRIMARY KEY,
  corrections INTEGER NOT NULL -- bytes of its file of corrections that were looked at
) STRICT;
INSERT INTO "mark" VALUES('kettlehollowfarmstoneaaaaa',2,0,'kettlehollowfarmmillpiecea','','stone','big, by the oak',0.0005,53.3512,'2025-09-20T10:15:02.200000000Z','000003-20250920T100000Z#1',1,'2026-03-01T08:00:00.000000000Z','Driver');
INSERT INTO "mark" VALUES('kettlehollowfarmwetaaaaaaa',1,0,NULL,'Long Meadow','wet spot','',NULL,NULL,'2026-04-02T09:00:00.000000000Z','000007-20260402T085000Z#2',0,'','');
INSERT INTO "mark_session" VALUES('000003-20250920T100000Z',0);
CREATE INDEX mark_field ON mark (field);
CREATE INDEX mark_open ON mark (done) WHERE archived = 0;
CREATE UNIQUE INDEX mark_origin ON mark (origin) WHERE origin <> '';
