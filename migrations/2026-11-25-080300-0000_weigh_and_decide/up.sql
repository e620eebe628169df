-- Quotes, authority, forecasts, advice, decisions, plans: each as it stood when made.
CREATE TABLE estate.quotes (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, unit_id uuid NOT NULL, firm_id uuid NOT NULL,
  part_code text, total_pence bigint NOT NULL CHECK (total_pence >= 0), vat_pence bigint NOT NULL CHECK (vat_pence BETWEEN 0 AND total_pence),
  valid_until date NOT NULL, words text NOT NULL DEFAULT '', happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.quotes (estate_id, job_id);
COMMENT ON COLUMN estate.quotes.total_pence IS 'Including VAT.';
CREATE TABLE estate.quote_lines (
  estate_id uuid NOT NULL, quote_id uuid NOT NULL, n integer NOT NULL, what text NOT NULL, net_pence bigint NOT NULL, vat_percent double precision NOT NULL,
  PRIMARY KEY (estate_id, quote_id, n), FOREIGN KEY (estate_id, quote_id) REFERENCES estate.quotes (estate_id, id));
CREATE TABLE estate.authorities (
  estate_id uuid NOT NULL, id uuid NOT NULL, role text NOT NULL CHECK (role IN ('contractor', 'agent', 'landlord')), account uuid,
  limit_pence bigint NOT NULL CHECK (limit_pence >= 0), emergency_pence bigint NOT NULL CHECK (emergency_pence >= 0),
  from_on date NOT NULL, until_on date, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE TABLE estate.fits (
  estate_id uuid NOT NULL, id uuid NOT NULL, kind_code text NOT NULL, made_at timestamptz NOT NULL, known_at timestamptz NOT NULL,
  verdict text NOT NULL, units integer NOT NULL, failures integer NOT NULL, merged_away integer NOT NULL, body jsonb NOT NULL, digest text NOT NULL,
  PRIMARY KEY (estate_id, id));
CREATE INDEX ON estate.fits (estate_id, kind_code, made_at);
CREATE TABLE estate.forecasts (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, fit_id uuid NOT NULL, made_at timestamptz NOT NULL, known_at timestamptz NOT NULL,
  made_on date NOT NULL, chance_12m double precision NOT NULL, chance_12m_low double precision NOT NULL, chance_12m_high double precision NOT NULL,
  expected_12m double precision NOT NULL, chance_season double precision NOT NULL, chance_season_low double precision NOT NULL,
  chance_season_high double precision NOT NULL, season_from date NOT NULL, season_until date NOT NULL,
  body jsonb NOT NULL, facts_digest text NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, fit_id) REFERENCES estate.fits (estate_id, id));
CREATE INDEX ON estate.forecasts (estate_id, unit_id, made_at);
CREATE INDEX forecasts_now ON estate.forecasts (estate_id, unit_id) WHERE superseded_at IS NULL;
CREATE TABLE estate.advices (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, job_id uuid, quote_id uuid, forecast_id uuid,
  made_at timestamptz NOT NULL, made_by uuid NOT NULL, course text NOT NULL CHECK (course IN ('repair', 'replace', 'keep')),
  close_call boolean NOT NULL, best_keep integer NOT NULL, quote_pence bigint, limit_pence bigint, advantage_pence bigint,
  inputs jsonb NOT NULL, result jsonb NOT NULL, digest text NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, quote_id) REFERENCES estate.quotes (estate_id, id),
  CHECK (advantage_pence = quote_pence - limit_pence));
CREATE INDEX ON estate.advices (estate_id, unit_id, made_at);
CREATE TABLE estate.decisions (
  estate_id uuid NOT NULL, id uuid NOT NULL, advice_id uuid NOT NULL, unit_id uuid NOT NULL,
  choice text NOT NULL CHECK (choice IN ('repair', 'replace', 'another_quote', 'keep')), option_code text,
  reason text NOT NULL, how text NOT NULL CHECK (how IN ('page', 'telephone', 'letter')), decided_by uuid NOT NULL, on_behalf_of text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, advice_id) REFERENCES estate.advices (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE UNIQUE INDEX decisions_one_now ON estate.decisions (estate_id, advice_id) WHERE superseded_at IS NULL;
CREATE TABLE estate.budgets (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, year integer NOT NULL, pence bigint NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE TABLE estate.rounds (
  estate_id uuid NOT NULL, id uuid NOT NULL, made_at timestamptz NOT NULL, made_by uuid NOT NULL, from_on date NOT NULL, until_on date NOT NULL,
  report jsonb NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE TABLE estate.round_visits (
  estate_id uuid NOT NULL, id uuid NOT NULL, round_id uuid NOT NULL, duty_id uuid NOT NULL, unit_id uuid, space_id uuid, building_id uuid NOT NULL,
  firm_id uuid, engineer_id uuid, on_day date, start_minute integer, minutes integer NOT NULL,
  window_first date, deadline date NOT NULL, unplaced_why text, job_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, round_id) REFERENCES estate.rounds (estate_id, id),
  FOREIGN KEY (estate_id, duty_id) REFERENCES estate.duties (estate_id, id));
CREATE INDEX ON estate.round_visits (estate_id, round_id);
CREATE TABLE estate.briefs (
  estate_id uuid NOT NULL, id uuid NOT NULL, made_on date NOT NULL, made_at timestamptz NOT NULL, body text NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, made_on));

-- Who did what. The link chains commitments; bodies and salts lie apart, so they can be stripped.
CREATE TABLE estate.audit_entries (
  estate_id uuid NOT NULL, n bigint NOT NULL, at timestamptz NOT NULL, who uuid NOT NULL, act text NOT NULL,
  about text NOT NULL, commitment bytea NOT NULL, link bytea NOT NULL,
  PRIMARY KEY (estate_id, n));
CREATE TABLE estate.audit_bodies (
  estate_id uuid NOT NULL, n bigint NOT NULL, salt bytea, body text, stripped_at timestamptz,
  PRIMARY KEY (estate_id, n), FOREIGN KEY (estate_id, n) REFERENCES estate.audit_entries (estate_id, n));
CREATE TABLE estate.idempotency (
  estate_id uuid NOT NULL, key text NOT NULL, request_digest text NOT NULL, answer jsonb NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, key));
