DROP TABLE estate.looks;
