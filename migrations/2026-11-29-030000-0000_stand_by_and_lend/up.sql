-- Who comes at night and at weekends, the heaters there are to lend, who will find out what is not known, and the shape
-- of a building's top.
CREATE TABLE estate.cover_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, firm_id uuid NOT NULL,
  hours text NOT NULL CHECK (hours IN ('nights', 'weekends', 'both')), from_on date NOT NULL, until_on date,
  words text NOT NULL DEFAULT '', happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), CHECK (until_on IS NULL OR from_on <= until_on),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX cover_now ON estate.cover_facts (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON COLUMN estate.cover_facts.hours IS 'nights: every night; weekends: from the evening before days off to the morning after them; both.';

CREATE TABLE estate.heaters (
  estate_id uuid NOT NULL, id uuid NOT NULL, number text NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, number));
CREATE TABLE estate.heater_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, heater_id uuid NOT NULL, what text NOT NULL,
  watts integer NOT NULL CHECK (watts BETWEEN 0 AND 3000), kept_at text NOT NULL, ended_on date, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, heater_id) REFERENCES estate.heaters (estate_id, id));
CREATE INDEX ON estate.heater_facts (estate_id, heater_id);
COMMENT ON COLUMN estate.heater_facts.watts IS 'What it draws at its highest setting; a 13 A plug carries 3 kW.';
CREATE TABLE estate.heater_loans (
  estate_id uuid NOT NULL, id uuid NOT NULL, heater_id uuid NOT NULL, space_id uuid NOT NULL, job_id uuid,
  lent_on date NOT NULL, back_on date, words text NOT NULL DEFAULT '', happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, heater_id) REFERENCES estate.heaters (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.heater_loans (estate_id, heater_id);
CREATE UNIQUE INDEX heater_lent_once ON estate.heater_loans (estate_id, heater_id) WHERE back_on IS NULL AND superseded_at IS NULL;

CREATE TABLE estate.building_roofs (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, roof text NOT NULL CHECK (roof IN ('flat', 'pitched', 'sheds')),
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX building_roofs_now ON estate.building_roofs (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON TABLE estate.building_roofs IS 'The shape of the top, for the section; flat when nobody stated it.';

CREATE TABLE estate.gap_finders (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, gap text NOT NULL, who text NOT NULL, by_on date NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX gap_finders_now ON estate.gap_finders (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON TABLE estate.gap_finders IS 'Who will find out what is not known of a building, and by when; the gaps themselves are read from the register.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['cover_facts', 'heaters', 'heater_facts', 'heater_loans', 'gap_finders', 'building_roofs'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['cover_facts', 'heater_facts', 'heater_loans', 'gap_finders', 'building_roofs'] LOOP
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
