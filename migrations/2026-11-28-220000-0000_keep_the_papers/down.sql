DROP TABLE estate.letters, estate.issued_records;
ALTER TABLE estate.access_attempts DROP COLUMN recorded_at;
