DROP TABLE estate.space_needed;
