DROP TABLE estate.recall_answers;
DROP TABLE estate.recalls;
