-- What a unit is alike with, from a day on: units built alike by a word of the house's own, and how the heating circuit it
-- works on is kept full. Rows stand beside each other: of those begun by a day the latest speaks, the first before its own day too.
CREATE TABLE estate.unit_likes (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL,
  what text NOT NULL CHECK (what IN ('family', 'system')), said text NOT NULL DEFAULT '',
  from_on date NOT NULL, happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL,
  superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  CONSTRAINT likes_of_the_list CHECK (what <> 'system' OR said IN ('', 'sealed', 'open')));
CREATE INDEX ON estate.unit_likes (estate_id, unit_id);
COMMENT ON COLUMN estate.unit_likes.said IS 'The word, or sealed or open; empty: nobody knows any more.';

DO $$
BEGIN
  ALTER TABLE estate.unit_likes ENABLE ROW LEVEL SECURITY;
  ALTER TABLE estate.unit_likes FORCE ROW LEVEL SECURITY;
  CREATE POLICY one_estate ON estate.unit_likes USING (estate_id = nullif(current_setting('app.estate_id', true), '')::uuid) WITH CHECK (estate_id = nullif(current_setting('app.estate_id', true), '')::uuid);
  CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.unit_likes FOR EACH ROW EXECUTE FUNCTION estate.supersede_once();
END $$;

-- Times of records by list, each row with its list, so that it can be taken back.
ALTER TABLE estate.record_windows ADD COLUMN import_id uuid;
ALTER TABLE estate.imports DROP CONSTRAINT imports_kind_check;
ALTER TABLE estate.imports ADD CONSTRAINT imports_kind_check CHECK (kind IN ('units', 'history', 'records'));
