DROP TABLE estate.letters, estate.issued_records;
