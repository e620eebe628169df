DROP TABLE estate.swaps;
