-- What is planned for a season of a field.

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
CREATE INDEX plan_season ON plan (season);
CREATE INDEX plan_product ON plan (product);
