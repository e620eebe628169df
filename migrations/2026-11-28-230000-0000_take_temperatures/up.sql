-- Water temperatures by site staff, a maker's own figures for a unit, and what follows from an event or stops a clock.
CREATE TABLE estate.outlets (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX ON estate.outlets (estate_id, building_id);
CREATE TABLE estate.outlet_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, outlet_id uuid NOT NULL, name text NOT NULL,
  place text NOT NULL CHECK (place IN ('hot_sentinel', 'cold_sentinel', 'store_outflow', 'store_return', 'other')),
  space_id uuid, unit_id uuid, walk integer NOT NULL, little_used boolean NOT NULL, ended_on date,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, outlet_id) REFERENCES estate.outlets (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.outlet_facts (estate_id, outlet_id);
COMMENT ON COLUMN estate.outlet_facts.walk IS 'Its turn in the walk through the building, lowest first.';

CREATE TABLE estate.temperature_rounds (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, taken_on date NOT NULL,
  thermometer text NOT NULL, calibrated_until date, taken_by uuid NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX ON estate.temperature_rounds (estate_id, building_id, taken_on);
CREATE TABLE estate.temperatures (
  estate_id uuid NOT NULL, id uuid NOT NULL, round_id uuid NOT NULL, outlet_id uuid NOT NULL, outlet text NOT NULL,
  place text NOT NULL CHECK (place IN ('hot_sentinel', 'cold_sentinel', 'store_outflow', 'store_return', 'other')),
  temp_c double precision, seconds_run integer, flushed boolean,
  level text NOT NULL CHECK (level IN ('pass', 'info', 'watch', 'act', 'stop')), words text NOT NULL, action text NOT NULL DEFAULT '',
  rule_book text NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, round_id) REFERENCES estate.temperature_rounds (estate_id, id),
  FOREIGN KEY (estate_id, outlet_id) REFERENCES estate.outlets (estate_id, id));
CREATE INDEX ON estate.temperatures (estate_id, round_id);
COMMENT ON COLUMN estate.temperatures.outlet IS 'What it was called, and where it counted, on the day: a later change of the outlet leaves the log as it was.';

CREATE TABLE estate.maker_figures (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, limit_row text NOT NULL, name text NOT NULL,
  value double precision NOT NULL, source text NOT NULL CHECK (source IN ('plate', 'manual')), reference text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.maker_figures (estate_id, unit_id);
COMMENT ON TABLE estate.maker_figures IS 'A limit of the maker for one unit; it comes before the general limit of that row of the rule book.';

CREATE TABLE estate.event_duties (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, space_id uuid, event text NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE TABLE estate.event_duty_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, event_duty_id uuid NOT NULL, event_on date NOT NULL, period_days integer,
  due_on date NOT NULL, task text NOT NULL, sentence text NOT NULL, words text NOT NULL DEFAULT '',
  done_on date, evidence text NOT NULL DEFAULT '', withdrawn text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, event_duty_id) REFERENCES estate.event_duties (estate_id, id));
CREATE INDEX ON estate.event_duty_facts (estate_id, event_duty_id);
COMMENT ON COLUMN estate.event_duty_facts.sentence IS 'How the due day came, in words, as the rule stood on the day it was entered.';

CREATE TABLE estate.clock_pauses (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, reason text NOT NULL, words text NOT NULL DEFAULT '',
  from_at timestamptz NOT NULL, until_at timestamptz, due_without timestamptz NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.clock_pauses (estate_id, job_id);
COMMENT ON COLUMN estate.clock_pauses.due_without IS 'When the job was due before anything stopped its clock.';

ALTER TABLE estate.duty_completions ADD COLUMN measured_k double precision;
COMMENT ON COLUMN estate.duty_completions.measured_k IS 'Mixing valves of a care setting: how far the mixed temperature had moved, K; the next test follows from it.';

-- The walls and the triggers of a fact, as on every table before.
DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['outlets', 'outlet_facts', 'temperature_rounds', 'temperatures', 'maker_figures', 'event_duties', 'event_duty_facts', 'clock_pauses'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['outlet_facts', 'temperatures', 'maker_figures', 'event_duty_facts', 'clock_pauses'] LOOP
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
