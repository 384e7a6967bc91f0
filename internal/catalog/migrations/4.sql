-- What a product costs, and the code of a season's crop.

ALTER TABLE product ADD COLUMN price TEXT NOT NULL DEFAULT ''; -- with currency and unit, such as 320 EUR/t
ALTER TABLE season ADD COLUMN crop_code TEXT NOT NULL DEFAULT ''; -- of EPPO, such as AVESA
