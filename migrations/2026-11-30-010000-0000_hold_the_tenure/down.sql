DROP INDEX estate.duties_one_per_place;
ALTER TABLE estate.duty_rules DROP COLUMN days;
DROP TABLE estate.cost_demands, estate.hazards, estate.tenures;
