-- What was said on a day, whole and with its hash; what came of it; the cold-night drills; the bags packed for a week.
CREATE TABLE estate.forecast_books (
  estate_id uuid NOT NULL, id uuid NOT NULL, made_on date NOT NULL, until_on date NOT NULL, made_at timestamptz NOT NULL,
  units integer NOT NULL, body text NOT NULL, digest text NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, made_on));
COMMENT ON COLUMN estate.forecast_books.body IS 'Every forecast of the day as JSON text, byte for byte what the digest is of. Never changed: there is no right to.';
CREATE TABLE estate.forecast_scores (
  estate_id uuid NOT NULL, book_id uuid NOT NULL, scored_at timestamptz NOT NULL, body text NOT NULL, digest text NOT NULL,
  PRIMARY KEY (estate_id, book_id), FOREIGN KEY (estate_id, book_id) REFERENCES estate.forecast_books (estate_id, id));
COMMENT ON TABLE estate.forecast_scores IS 'What happened to each line of a book, as known when its period was over; later facts never change it.';
CREATE TABLE estate.drills (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid, ask jsonb NOT NULL, made_at timestamptz NOT NULL, made_by uuid NOT NULL,
  answer jsonb NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX drills_now ON estate.drills (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON COLUMN estate.drills.building_id IS 'None: every building of the estate together.';
CREATE TABLE estate.bags (
  estate_id uuid NOT NULL, id uuid NOT NULL, engineer_id uuid NOT NULL, firm_id uuid NOT NULL, week_on date NOT NULL, ask jsonb NOT NULL,
  made_at timestamptz NOT NULL, made_by uuid NOT NULL, answer jsonb NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE INDEX bags_now ON estate.bags (estate_id, engineer_id, week_on) WHERE superseded_at IS NULL;
COMMENT ON COLUMN estate.bags.week_on IS 'The Monday.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['forecast_books', 'forecast_scores', 'drills', 'bags'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['drills', 'bags'] LOOP
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
