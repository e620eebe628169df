-- From a call or a duty to a closed job; bookings, jobs and visits keep events.
CREATE TABLE estate.duties (
  estate_id uuid NOT NULL, id uuid NOT NULL, rule_code text NOT NULL, unit_id uuid, space_id uuid, building_id uuid NOT NULL,
  made_at timestamptz NOT NULL, ended_on date,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX ON estate.duties (estate_id, unit_id);
CREATE UNIQUE INDEX duties_one_per_unit ON estate.duties (estate_id, unit_id, rule_code) WHERE ended_on IS NULL;
CREATE TABLE estate.duty_completions (
  estate_id uuid NOT NULL, id uuid NOT NULL, duty_id uuid NOT NULL, done_on date, check_complete boolean NOT NULL,
  result text NOT NULL, treated_as date, days_late integer NOT NULL DEFAULT 0, next_deadline date, reason text NOT NULL,
  job_id uuid, evidence text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, duty_id) REFERENCES estate.duties (estate_id, id));
CREATE INDEX ON estate.duty_completions (estate_id, duty_id);
COMMENT ON COLUMN estate.duty_completions.done_on IS 'Null: a starting deadline with its reason, no check yet.';

CREATE TABLE estate.outages (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, branch_id uuid, function_lost text NOT NULL,
  cause text NOT NULL DEFAULT '', from_at timestamptz NOT NULL, until_at timestamptz, made_by uuid NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id),
  FOREIGN KEY (estate_id, branch_id) REFERENCES estate.branches (estate_id, id));
CREATE TABLE estate.outage_spaces (
  estate_id uuid NOT NULL, outage_id uuid NOT NULL, space_id uuid NOT NULL, joined_at timestamptz NOT NULL,
  retested_at timestamptz,
  PRIMARY KEY (estate_id, outage_id, space_id), FOREIGN KEY (estate_id, outage_id) REFERENCES estate.outages (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));

CREATE TABLE estate.jobs (
  estate_id uuid NOT NULL, id uuid NOT NULL, number text NOT NULL,
  kind text NOT NULL CHECK (kind IN ('service', 'check', 'repair', 'replacement', 'survey')),
  building_id uuid NOT NULL, space_id uuid NOT NULL, unit_id uuid, function_lost text, words text NOT NULL DEFAULT '',
  source text NOT NULL CHECK (source IN ('call', 'duty', 'agent', 'advice', 'import')),
  covers text NOT NULL DEFAULT '', minutes integer NOT NULL DEFAULT 60, due_at timestamptz, due_why text NOT NULL DEFAULT '',
  state text NOT NULL CHECK (state IN ('to_place', 'offered', 'taken', 'booked', 'on_site', 'waiting_for_decision',
    'waiting_for_part', 'made_safe', 'no_access', 'left_isolated', 'done', 'agreed', 'stood_down')),
  state_at timestamptz NOT NULL, version integer NOT NULL DEFAULT 1,
  firm_id uuid, engineer_id uuid, booked_from timestamptz, booked_until timestamptz,
  opened_at timestamptz NOT NULL, opened_by uuid NOT NULL, closed_at timestamptz, cost_pence bigint,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, number),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.jobs (estate_id, unit_id);
CREATE INDEX ON estate.jobs (estate_id, space_id);
CREATE INDEX ON estate.jobs (estate_id, firm_id, state);
CREATE INDEX jobs_open ON estate.jobs (estate_id, state) WHERE closed_at IS NULL;
CREATE TABLE estate.job_events (
  estate_id uuid NOT NULL, job_id uuid NOT NULL, n integer NOT NULL, state text NOT NULL, at timestamptz NOT NULL,
  by_account uuid NOT NULL, firm_id uuid, engineer_id uuid, words text NOT NULL DEFAULT '',
  PRIMARY KEY (estate_id, job_id, n), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE TABLE estate.job_duties (
  estate_id uuid NOT NULL, job_id uuid NOT NULL, duty_id uuid NOT NULL,
  PRIMARY KEY (estate_id, job_id, duty_id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, duty_id) REFERENCES estate.duties (estate_id, id));
CREATE TABLE estate.fault_calls (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL,
  function_lost text NOT NULL CHECK (function_lost IN ('heating', 'hot_water', 'heating_and_hot_water', 'leak', 'noise', 'gas_or_co', 'other')),
  since_at timestamptz NOT NULL, called_at timestamptz NOT NULL, taken_by uuid NOT NULL, words text NOT NULL DEFAULT '',
  job_id uuid, outage_id uuid, answered text NOT NULL DEFAULT '',
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, outage_id) REFERENCES estate.outages (estate_id, id));
CREATE INDEX ON estate.fault_calls (estate_id, space_id);
CREATE TABLE estate.offers (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, firm_id uuid NOT NULL, offered_at timestamptz NOT NULL,
  offered_by uuid NOT NULL, until_at timestamptz NOT NULL, proposed_from timestamptz, proposed_until timestamptz,
  answer text CHECK (answer IN ('taken', 'declined', 'lapsed', 'withdrawn')), answered_at timestamptz, answered_by uuid,
  reason text NOT NULL DEFAULT '',
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.offers (estate_id, firm_id);
CREATE INDEX ON estate.offers (estate_id, job_id);
CREATE TABLE estate.visits (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, firm_id uuid, engineer_id uuid,
  source text NOT NULL CHECK (source IN ('phone', 'paper', 'mail', 'import')),
  arrived_at timestamptz NOT NULL, left_at timestamptz, made_by uuid NOT NULL, outcome text,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE TABLE estate.visit_jobs (
  estate_id uuid NOT NULL, visit_id uuid NOT NULL, job_id uuid NOT NULL,
  PRIMARY KEY (estate_id, visit_id, job_id), FOREIGN KEY (estate_id, visit_id) REFERENCES estate.visits (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.visit_jobs (estate_id, job_id);
CREATE TABLE estate.sheets (
  estate_id uuid NOT NULL, id uuid NOT NULL, visit_id uuid NOT NULL, job_id uuid NOT NULL, body jsonb NOT NULL,
  rule_book text NOT NULL, written_at timestamptz NOT NULL, received_at timestamptz NOT NULL, written_by uuid NOT NULL,
  closes boolean NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, visit_id) REFERENCES estate.visits (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.sheets (estate_id, job_id);
CREATE TABLE estate.readings (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, visit_id uuid, code text NOT NULL, value double precision,
  words text NOT NULL DEFAULT '', measured_in text NOT NULL, place text NOT NULL DEFAULT '', conditions text NOT NULL DEFAULT '',
  stage text NOT NULL CHECK (stage IN ('before', 'after')), instrument text NOT NULL DEFAULT '', calibrated_until date,
  taken_at timestamptz NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, visit_id) REFERENCES estate.visits (estate_id, id));
CREATE INDEX ON estate.readings (estate_id, unit_id, code);
CREATE TABLE estate.observations (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, job_id uuid NOT NULL, visit_id uuid, code text NOT NULL,
  seen boolean NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.observations (estate_id, job_id);
CREATE TABLE estate.findings (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, job_id uuid NOT NULL, visit_id uuid,
  level text NOT NULL CHECK (level IN ('info', 'watch', 'act', 'stop')), code text NOT NULL, reading text NOT NULL DEFAULT '',
  words text NOT NULL, rule_book text NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.findings (estate_id, unit_id);
CREATE TABLE estate.notices (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, job_id uuid, class text NOT NULL CHECK (class IN ('ID', 'AR')),
  notice_no text NOT NULL DEFAULT '', isolated boolean NOT NULL, permission_refused boolean NOT NULL DEFAULT false,
  words text NOT NULL, made_at timestamptz NOT NULL, made_by uuid NOT NULL,
  cleared_at timestamptz, cleared_by uuid, cleared_registration text,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.notices (estate_id, unit_id);
COMMENT ON TABLE estate.notices IS 'Unsafe situations as the engineer on site classed them; the program only stores and blocks.';
CREATE TABLE estate.access_attempts (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, at timestamptz NOT NULL, by_account uuid NOT NULL,
  engineer_id uuid, left_behind text NOT NULL DEFAULT '', words text NOT NULL DEFAULT '',
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.access_attempts (estate_id, job_id);
CREATE TABLE estate.failures (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.failures (estate_id, unit_id);
CREATE TABLE estate.failure_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, failure_id uuid NOT NULL, part_code text, function_lost text,
  found_at_service boolean NOT NULL DEFAULT false, no_fault_found boolean NOT NULL DEFAULT false, cost_pence bigint,
  job_id uuid, same_as text NOT NULL DEFAULT '', words text NOT NULL DEFAULT '', age_years double precision,
  happened_on date NOT NULL, happened_until date, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, failure_id) REFERENCES estate.failures (estate_id, id));
CREATE INDEX ON estate.failure_facts (estate_id, failure_id);
COMMENT ON COLUMN estate.failure_facts.happened_until IS 'Last day it may have happened when the record names only a month or year.';
CREATE TABLE estate.services (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, job_id uuid, what text NOT NULL, cost_pence bigint,
  words text NOT NULL DEFAULT '', happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.services (estate_id, unit_id);
COMMENT ON TABLE estate.services IS 'Work that was not a failure: service, check, repair with its cost.';
