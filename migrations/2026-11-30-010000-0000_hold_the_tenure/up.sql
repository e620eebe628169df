-- Who holds a home, from a day on. Rows stand beside each other: of those begun by a day the latest speaks.
CREATE TABLE estate.tenures (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL,
  tenure text NOT NULL CHECK (tenure IN ('council_secure', 'social', 'private', 'long_lease', 'unknown')),
  from_on date NOT NULL, happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL,
  superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.tenures (estate_id, space_id);
COMMENT ON COLUMN estate.tenures.tenure IS 'Unknown is an answer too: it says that nobody knows any more.';

-- A hazard somebody was told of, and what was done about it.
CREATE TABLE estate.hazards (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, space_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('emergency', 'significant')),
  hazard text NOT NULL CHECK (hazard IN ('damp_and_mould', 'other')),
  aware_at timestamptz NOT NULL, words text NOT NULL DEFAULT '',
  investigated_on date, summary_on date, safety_on date, begun_on date, withdrawn text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.hazards (estate_id, job_id);
COMMENT ON COLUMN estate.hazards.aware_at IS 'When the landlord became aware: every clock of the hazard starts then.';

-- An invoice whose cost was demanded from those who pay towards it, or of which notice was given.
CREATE TABLE estate.cost_demands (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, number text NOT NULL,
  served text NOT NULL CHECK (served IN ('demand', 'notice')), served_on date NOT NULL, words text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.cost_demands (estate_id, job_id);
COMMENT ON COLUMN estate.cost_demands.number IS 'The invoice by its own number: one entered again in place of another is still demanded.';

-- Weeks and days, where whole months are too long. The months beside them are what an older program goes by.
ALTER TABLE estate.duty_rules ADD COLUMN days integer CHECK (days BETWEEN 1 AND 3660);
COMMENT ON COLUMN estate.duty_rules.days IS 'Days between, in place of the months; null: the months count.';

-- A duty of a home or of a whole building stands on no unit; there too it runs once.
CREATE UNIQUE INDEX duties_one_per_place ON estate.duties
  (estate_id, building_id, coalesce(space_id, building_id), rule_code) WHERE unit_id IS NULL AND ended_on IS NULL;

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['tenures', 'hazards', 'cost_demands'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
