-- An older program knows two kinds of list: one of times stays readable as the history it was sent as, and what it stated stays stated.
ALTER TABLE estate.imports NO FORCE ROW LEVEL SECURITY;
UPDATE estate.imports SET kind = 'history' WHERE kind = 'records';
ALTER TABLE estate.imports FORCE ROW LEVEL SECURITY;
ALTER TABLE estate.imports DROP CONSTRAINT imports_kind_check;
ALTER TABLE estate.imports ADD CONSTRAINT imports_kind_check CHECK (kind IN ('units', 'history'));
ALTER TABLE estate.record_windows DROP COLUMN import_id;
DROP TABLE estate.unit_likes;
