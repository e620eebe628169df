-- Photos and papers on units, visits and access attempts. Their bytes lie in the database, so that a dump, a restore and a
-- hand-over take them along and row-level security stands before them.
CREATE TABLE estate.enclosure_bodies (
  estate_id uuid NOT NULL, digest text NOT NULL, body bytea NOT NULL,
  PRIMARY KEY (estate_id, digest));
COMMENT ON COLUMN estate.enclosure_bodies.digest IS 'SHA-256 of the body, in hexadecimal: the same file is kept once.';
CREATE TABLE estate.enclosures (
  estate_id uuid NOT NULL, id uuid NOT NULL, about_kind text NOT NULL CHECK (about_kind IN ('unit', 'visit', 'attempt')), about_id uuid NOT NULL,
  building_id uuid NOT NULL, unit_id uuid, job_id uuid, sort text NOT NULL CHECK (sort IN ('photo', 'paper')),
  name text NOT NULL, words text NOT NULL, digest text NOT NULL, bytes integer NOT NULL, width integer NOT NULL, height integer NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, digest) REFERENCES estate.enclosure_bodies (estate_id, digest),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.enclosures (estate_id, unit_id);
CREATE INDEX ON estate.enclosures (estate_id, job_id);
COMMENT ON COLUMN estate.enclosures.unit_id IS 'The unit it is about, or the unit of the job it is of.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['enclosure_bodies', 'enclosures'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['enclosures'] LOOP
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
