DROP TABLE door.firm_papers;
