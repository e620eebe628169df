DROP TABLE estate.tellings;
DROP TABLE door.reply_links;
ALTER TABLE estate.visits DROP CONSTRAINT visits_source_check;
ALTER TABLE estate.visits ADD CONSTRAINT visits_source_check CHECK (source IN ('phone', 'paper', 'mail', 'import'));
ALTER TABLE estate.jobs DROP CONSTRAINT jobs_source_check;
ALTER TABLE estate.jobs ADD CONSTRAINT jobs_source_check CHECK (source IN ('call', 'duty', 'agent', 'advice', 'import'));
