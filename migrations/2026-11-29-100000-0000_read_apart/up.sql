-- A large list, or a workbook, is read and brought in by a task, and waits until it was.
ALTER TABLE estate.imports DROP CONSTRAINT imports_state_check;
ALTER TABLE estate.imports ADD CONSTRAINT imports_state_check CHECK (state IN ('preview', 'done', 'undone', 'dropped', 'reading', 'refused', 'coming_in'));
ALTER TABLE estate.imports ADD COLUMN sheet text NOT NULL DEFAULT '', ADD COLUMN source text NOT NULL DEFAULT '', ADD COLUMN findings jsonb NOT NULL DEFAULT '[]';
COMMENT ON COLUMN estate.imports.source IS 'Whose list it is: how its columns and names were matched is remembered under it.';
COMMENT ON COLUMN estate.imports.findings IS 'What the sheets of a handover say against each other.';
-- The file as sent, until it was read; then its body is emptied, since no row is ever deleted.
CREATE TABLE estate.import_files (
  estate_id uuid NOT NULL, import_id uuid NOT NULL, body bytea NOT NULL,
  PRIMARY KEY (estate_id, import_id), FOREIGN KEY (estate_id, import_id) REFERENCES estate.imports (estate_id, id));
-- How far the task is. In a row of its own, so that it can be said while the list itself is held.
CREATE TABLE estate.import_progress (
  estate_id uuid NOT NULL, import_id uuid NOT NULL, words text NOT NULL, done integer NOT NULL, of_all integer NOT NULL, said_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, import_id), FOREIGN KEY (estate_id, import_id) REFERENCES estate.imports (estate_id, id));

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['import_files', 'import_progress'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
END $$;
