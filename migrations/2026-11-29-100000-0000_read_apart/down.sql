DROP TABLE estate.import_progress, estate.import_files;
ALTER TABLE estate.imports DROP COLUMN findings, DROP COLUMN source, DROP COLUMN sheet;
ALTER TABLE estate.imports DROP CONSTRAINT imports_state_check;
ALTER TABLE estate.imports NO FORCE ROW LEVEL SECURITY;
UPDATE estate.imports SET state = 'dropped' WHERE state IN ('reading', 'refused', 'coming_in');
ALTER TABLE estate.imports FORCE ROW LEVEL SECURITY;
ALTER TABLE estate.imports ADD CONSTRAINT imports_state_check CHECK (state IN ('preview', 'done', 'undone', 'dropped'));
