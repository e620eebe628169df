-- A firm's own papers: its registration for gas work and its insurance. Of one sort and number the row recorded last stands.
CREATE TABLE door.firm_papers (
  id uuid PRIMARY KEY, firm uuid NOT NULL REFERENCES door.firms (id),
  what text NOT NULL CHECK (what IN ('gas_registration', 'insurance')),
  number text NOT NULL, from_on date NOT NULL, until_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL REFERENCES door.accounts (id),
  CHECK (from_on <= until_on));
CREATE INDEX ON door.firm_papers (firm);
COMMENT ON TABLE door.firm_papers IS 'Papers of a firm itself. None is taken back: the same number stated again with other days stands in place of what stood before.';
