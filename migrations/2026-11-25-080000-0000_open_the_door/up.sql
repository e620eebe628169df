-- Who may come in, and to which estate. No residents and no addresses in this schema.
-- Its tables say `estate`, not `estate_id`: they are reached by account or firm, never by tenant,
-- and only through the named functions of the room `store::door`.
CREATE SCHEMA door;

CREATE TABLE door.estates (
  id uuid PRIMARY KEY, name text NOT NULL, holding text, server text NOT NULL DEFAULT 'here',
  demo boolean NOT NULL DEFAULT false, made_at timestamptz NOT NULL);
CREATE TABLE door.firms (
  id uuid PRIMARY KEY, name text NOT NULL, made_at timestamptz NOT NULL);
CREATE TABLE door.accounts (
  id uuid PRIMARY KEY, email text NOT NULL UNIQUE CHECK (email = lower(email)), name text NOT NULL,
  password_hash text NOT NULL, demo boolean NOT NULL DEFAULT false,
  made_at timestamptz NOT NULL, closed_at timestamptz);
CREATE TABLE door.sessions (
  token_hash bytea PRIMARY KEY, account uuid NOT NULL REFERENCES door.accounts (id),
  made_at timestamptz NOT NULL, seen_at timestamptz NOT NULL, until_at timestamptz NOT NULL,
  device text NOT NULL, ended_at timestamptz);
CREATE INDEX ON door.sessions (account);
CREATE TABLE door.engineers (
  id uuid PRIMARY KEY, firm uuid NOT NULL REFERENCES door.firms (id),
  account uuid REFERENCES door.accounts (id), name text NOT NULL,
  minutes_a_week integer NOT NULL DEFAULT 2100, made_at timestamptz NOT NULL, left_on date);
CREATE INDEX ON door.engineers (firm);
CREATE TABLE door.qualifications (
  id uuid PRIMARY KEY, engineer uuid NOT NULL REFERENCES door.engineers (id),
  covers text NOT NULL CHECK (covers IN ('gas', 'unvented', 'hiu', 'electric', 'water')),
  number text NOT NULL, from_on date NOT NULL, until_on date NOT NULL);
CREATE INDEX ON door.qualifications (engineer);
CREATE TABLE door.instruments (
  id uuid PRIMARY KEY, firm uuid NOT NULL REFERENCES door.firms (id),
  engineer uuid REFERENCES door.engineers (id), name text NOT NULL, calibrated_until date NOT NULL);
CREATE INDEX ON door.instruments (firm);
CREATE TABLE door.grants (
  id uuid PRIMARY KEY, account uuid NOT NULL REFERENCES door.accounts (id),
  estate uuid NOT NULL REFERENCES door.estates (id),
  role text NOT NULL CHECK (role IN ('agent', 'contractor', 'landlord', 'office', 'site', 'out_of_hours', 'supervisor')),
  firm uuid REFERENCES door.firms (id), buildings uuid[],
  from_on date NOT NULL, until_on date,
  CHECK (role NOT IN ('contractor', 'office') OR firm IS NOT NULL));
COMMENT ON COLUMN door.grants.buildings IS 'Null: every building of the estate.';
CREATE INDEX ON door.grants (account);
CREATE TABLE door.firm_hours (
  firm uuid NOT NULL REFERENCES door.firms (id), estate uuid NOT NULL REFERENCES door.estates (id),
  minutes_a_week integer NOT NULL CHECK (minutes_a_week BETWEEN 0 AND 10080),
  PRIMARY KEY (firm, estate));
CREATE TABLE door.sign_in_attempts (
  id uuid PRIMARY KEY, email text NOT NULL, address text NOT NULL, at timestamptz NOT NULL,
  ok boolean NOT NULL);
CREATE INDEX ON door.sign_in_attempts (email, at);
CREATE INDEX ON door.sign_in_attempts (address, at);
CREATE TABLE door.tasks (
  id uuid PRIMARY KEY, estate uuid REFERENCES door.estates (id), kind text NOT NULL,
  payload jsonb NOT NULL DEFAULT '{}', once_key text, run_at timestamptz NOT NULL,
  attempts integer NOT NULL DEFAULT 0, leased_until timestamptz, leased_by text,
  progress text, done_at timestamptz, last_error text, made_at timestamptz NOT NULL);
CREATE UNIQUE INDEX tasks_once ON door.tasks (kind, once_key) WHERE done_at IS NULL;
CREATE INDEX tasks_waiting ON door.tasks (run_at) WHERE done_at IS NULL;
CREATE TABLE door.ticks (
  schedule text NOT NULL, due text NOT NULL, at timestamptz NOT NULL, PRIMARY KEY (schedule, due));
CREATE TABLE door.bank_holidays (
  country text NOT NULL CHECK (country IN ('england', 'scotland', 'wales', 'northern_ireland')),
  on_day date NOT NULL, name text NOT NULL, source text NOT NULL, recorded_at timestamptz NOT NULL,
  PRIMARY KEY (country, on_day));
