-- What stands where. Identity and facts are two tables; the only change to a fact is superseded_at.
CREATE SCHEMA estate;

CREATE TABLE estate.settings (
  estate_id uuid NOT NULL, id uuid NOT NULL, key text NOT NULL, value text NOT NULL, from_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE TABLE estate.imports (
  estate_id uuid NOT NULL, id uuid NOT NULL, name text NOT NULL, digest text NOT NULL,
  kind text NOT NULL CHECK (kind IN ('units', 'history')), building_id uuid,
  body text NOT NULL, mapping jsonb NOT NULL, report jsonb NOT NULL DEFAULT '{}',
  state text NOT NULL CHECK (state IN ('preview', 'done', 'undone', 'dropped')),
  rows integer NOT NULL, made_at timestamptz NOT NULL, made_by uuid NOT NULL,
  done_at timestamptz, undone_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE INDEX ON estate.imports (estate_id, digest);

CREATE TABLE estate.buildings (
  estate_id uuid NOT NULL, id uuid NOT NULL, code text NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, code));
CREATE TABLE estate.building_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL,
  name text NOT NULL, address text NOT NULL DEFAULT '',
  country text NOT NULL CHECK (country IN ('england', 'scotland', 'wales', 'northern_ireland')),
  built_year integer, storeys integer, higher_risk boolean, hardness_mg_l double precision,
  asbestos_register text NOT NULL DEFAULT 'unknown' CHECK (asbestos_register IN ('unknown', 'none', 'clear', 'present')),
  note text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE INDEX ON estate.building_facts (estate_id, building_id);
CREATE TABLE estate.levels (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, ordinal integer NOT NULL, label text NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, building_id, ordinal),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE TABLE estate.spaces (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, level_id uuid NOT NULL,
  place integer NOT NULL, made_at timestamptz NOT NULL, import_id uuid,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, level_id, place),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id),
  FOREIGN KEY (estate_id, level_id) REFERENCES estate.levels (estate_id, id));
CREATE INDEX ON estate.spaces (estate_id, building_id);
COMMENT ON COLUMN estate.spaces.place IS 'Column in the section, left to right from 0.';
CREATE TABLE estate.space_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, name text NOT NULL,
  used_as text NOT NULL CHECK (used_as IN ('flat', 'plant', 'riser', 'roof', 'common', 'stair')),
  stair text, let_short boolean, site jsonb NOT NULL DEFAULT '{}',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.space_facts (estate_id, space_id);
COMMENT ON COLUMN estate.space_facts.site IS 'What options need to know of the space: keys of option.feasibility.';
COMMENT ON COLUMN estate.space_facts.let_short IS 'Tenancy or lease under seven years: the gas check is our duty. Null: unknown.';

-- Resident data lies apart: never in search words, logs, feeds or file names.
CREATE TABLE estate.residents (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, name text NOT NULL, phone text NOT NULL DEFAULT '',
  from_on date NOT NULL, until_on date, stripped_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.residents (estate_id, space_id);
CREATE TABLE estate.needs (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, need text NOT NULL,
  same_day boolean NOT NULL, from_on date NOT NULL, until_on date,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.needs (estate_id, space_id);
COMMENT ON COLUMN estate.needs.need IS 'What the visitor must do, never a diagnosis.';
CREATE TABLE estate.ways_in (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, how text NOT NULL DEFAULT '',
  opens text NOT NULL DEFAULT '', code text NOT NULL DEFAULT '', stop_tap text NOT NULL DEFAULT '',
  isolation text NOT NULL DEFAULT '', meter text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));

CREATE TABLE estate.branches (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id));
CREATE TABLE estate.branch_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, branch_id uuid NOT NULL, name text NOT NULL,
  kind text NOT NULL CHECK (kind IN ('riser', 'zone', 'header')), needed integer,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, branch_id) REFERENCES estate.branches (estate_id, id));
COMMENT ON COLUMN estate.branch_facts.needed IS 'How many of its feeding units it needs on the coldest day. Null: unknown.';
CREATE TABLE estate.branch_links (
  estate_id uuid NOT NULL, id uuid NOT NULL, branch_id uuid NOT NULL,
  side text NOT NULL CHECK (side IN ('feeds', 'hangs_on')), unit_id uuid, space_id uuid, other_branch_id uuid,
  from_on date NOT NULL, until_on date,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), CHECK (num_nonnulls(unit_id, space_id, other_branch_id) = 1),
  FOREIGN KEY (estate_id, branch_id) REFERENCES estate.branches (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, other_branch_id) REFERENCES estate.branches (estate_id, id));
CREATE INDEX ON estate.branch_links (estate_id, branch_id);

CREATE TABLE estate.units (
  estate_id uuid NOT NULL, id uuid NOT NULL, number text NOT NULL, made_at timestamptz NOT NULL, import_id uuid,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, number));
COMMENT ON COLUMN estate.units.number IS 'Lasting number on the label; never reused.';
CREATE TABLE estate.unit_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, kind_code text NOT NULL, serial text NOT NULL DEFAULT '',
  installed_from date, installed_until date, rated_kw double precision, litres double precision,
  filter_fitted boolean, reducer_fitted boolean, warranty_until date, watched_from date NOT NULL,
  fate text NOT NULL DEFAULT 'in_service' CHECK (fate IN ('in_service', 'written_off', 'removed')), fate_on date,
  note text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  CHECK (installed_from <= installed_until), CHECK ((installed_from IS NULL) = (installed_until IS NULL)),
  CHECK ((fate = 'in_service') = (fate_on IS NULL)));
CREATE INDEX ON estate.unit_facts (estate_id, unit_id);
CREATE INDEX ON estate.unit_facts (estate_id, serial);
COMMENT ON COLUMN estate.unit_facts.watched_from IS 'From this day a failure would have been recorded; before it nothing is known.';
COMMENT ON COLUMN estate.unit_facts.installed_from IS 'First day it may have been fitted; equal to installed_until when known, both null when not.';
CREATE TABLE estate.placements (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, space_id uuid NOT NULL, from_on date, until_on date,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.placements (estate_id, unit_id);
CREATE INDEX ON estate.placements (estate_id, space_id);
CREATE TABLE estate.serves (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, space_id uuid, branch_id uuid, from_on date, until_on date,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), CHECK (num_nonnulls(space_id, branch_id) = 1),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id),
  FOREIGN KEY (estate_id, branch_id) REFERENCES estate.branches (estate_id, id));
CREATE INDEX ON estate.serves (estate_id, unit_id);
CREATE TABLE estate.parts (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, part_code text NOT NULL, made_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, unit_id, part_code),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE TABLE estate.part_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, part_id uuid NOT NULL, fitted_on date NOT NULL, job_id uuid,
  planned boolean NOT NULL DEFAULT false, words text NOT NULL DEFAULT '',
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz, import_id uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, part_id) REFERENCES estate.parts (estate_id, id));
CREATE INDEX ON estate.part_facts (estate_id, part_id);

CREATE TABLE estate.words (
  estate_id uuid NOT NULL, word text COLLATE "C" NOT NULL,
  about_kind text NOT NULL CHECK (about_kind IN ('building', 'space', 'unit', 'job')), about_id uuid NOT NULL,
  PRIMARY KEY (estate_id, word, about_kind, about_id));

-- Dated data of the trade: kinds, part shares, duties, prices, rates, rule books.
CREATE TABLE estate.kind_facts (
  estate_id uuid NOT NULL, id uuid NOT NULL, kind_code text NOT NULL, name text NOT NULL, plural text NOT NULL,
  life_median_years double precision NOT NULL, life_shape double precision NOT NULL,
  rate_3y double precision NOT NULL, rate_10y double precision NOT NULL, rate_15y double precision NOT NULL,
  rate_sd_log double precision NOT NULL, gas boolean NOT NULL, covers text NOT NULL, status text NOT NULL, as_at date NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
COMMENT ON COLUMN estate.kind_facts.rate_10y IS 'Faults a unit-year at ten years of age.';
CREATE TABLE estate.part_priors (
  estate_id uuid NOT NULL, id uuid NOT NULL, kind_code text NOT NULL, part_code text NOT NULL, name text NOT NULL,
  share double precision NOT NULL, shape double precision NOT NULL,
  clock text NOT NULL CHECK (clock IN ('part', 'unit', 'event')), place integer NOT NULL, status text NOT NULL, as_at date NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE TABLE estate.duty_rules (
  estate_id uuid NOT NULL, id uuid NOT NULL, rule_code text NOT NULL, name text NOT NULL,
  window_rule text NOT NULL CHECK (window_rule IN ('W1', 'W2', 'W3', 'W4', 'W5', 'W6')), months integer NOT NULL,
  applies_kinds text NOT NULL, covers text NOT NULL, minutes integer NOT NULL,
  basis text NOT NULL CHECK (basis IN ('law', 'code', 'standard', 'maker', 'good practice', 'contract')),
  status text NOT NULL, evidence text NOT NULL, country text NOT NULL, as_at date NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
COMMENT ON COLUMN estate.duty_rules.applies_kinds IS 'Kind codes parted by spaces.';
CREATE TABLE estate.prices (
  estate_id uuid NOT NULL, id uuid NOT NULL, firm_id uuid, kind_code text NOT NULL, item text NOT NULL, name text NOT NULL,
  low_pence bigint NOT NULL, likely_pence bigint NOT NULL, high_pence bigint NOT NULL, vat_percent double precision NOT NULL,
  status text NOT NULL, as_at date NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), CHECK (low_pence BETWEEN 0 AND likely_pence), CHECK (likely_pence <= high_pence));
COMMENT ON COLUMN estate.prices.item IS 'service, check, repair, repair:PART or replace:OPTION; including VAT, fitted, day rate.';
CREATE TABLE estate.rates (
  estate_id uuid NOT NULL, id uuid NOT NULL, annual_real_rate double precision NOT NULL, status text NOT NULL, as_at date NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id));
CREATE TABLE estate.rule_books (
  estate_id uuid NOT NULL, hash text NOT NULL, body text NOT NULL, as_at date NOT NULL, recorded_at timestamptz NOT NULL,
  PRIMARY KEY (estate_id, hash));
