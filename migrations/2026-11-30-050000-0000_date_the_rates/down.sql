ALTER TABLE estate.rates DROP COLUMN later;
