DROP TABLE estate.record_windows;
