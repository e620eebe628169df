-- What people ask of the programme and the rounds, dated, with who and why; plans as they were made; the one adopted.
CREATE TABLE estate.plan_ties (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, what text NOT NULL CHECK (what IN ('pin', 'forbid', 'together')),
  year integer, why text NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX plan_ties_now ON estate.plan_ties (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON TABLE estate.plan_ties IS 'pin: its unit in that year; forbid: not in that year; together: its units in one year, or none of them.';
CREATE TABLE estate.plan_tie_units (
  estate_id uuid NOT NULL, tie_id uuid NOT NULL, unit_id uuid NOT NULL,
  PRIMARY KEY (estate_id, tie_id, unit_id), FOREIGN KEY (estate_id, tie_id) REFERENCES estate.plan_ties (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE TABLE estate.plans (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, name text, ask jsonb NOT NULL, made_at timestamptz NOT NULL,
  made_by uuid NOT NULL, asked jsonb NOT NULL, answer jsonb NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX plans_now ON estate.plans (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON COLUMN estate.plans.name IS 'A what-if''s own name; the plan as stated has none.';
CREATE TABLE estate.plan_adoptions (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, plan_id uuid NOT NULL, why text NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, plan_id) REFERENCES estate.plans (estate_id, id));
CREATE INDEX plan_adoptions_now ON estate.plan_adoptions (estate_id, building_id) WHERE superseded_at IS NULL;
CREATE TABLE estate.plan_jobs (
  estate_id uuid NOT NULL, plan_id uuid NOT NULL, unit_id uuid NOT NULL, job_id uuid NOT NULL, opened_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, plan_id, unit_id), FOREIGN KEY (estate_id, plan_id) REFERENCES estate.plans (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE TABLE estate.round_asks (
  estate_id uuid NOT NULL, id uuid NOT NULL, what text NOT NULL CHECK (what IN ('away', 'not_before')), engineer_id uuid, unit_id uuid,
  from_on date NOT NULL, until_on date, why text NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE INDEX round_asks_now ON estate.round_asks (estate_id) WHERE superseded_at IS NULL;
COMMENT ON TABLE estate.round_asks IS 'away: the engineer does not work from from_on until until_on; not_before: no visit to the unit before from_on.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['plan_ties', 'plan_tie_units', 'plans', 'plan_adoptions', 'plan_jobs', 'round_asks'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['plan_ties', 'plans', 'plan_adoptions', 'round_asks'] LOOP
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
