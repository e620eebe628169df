-- What contractors bill for a job, line by line; matched with the quote when it is read, never here.
CREATE TABLE estate.invoices (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, firm_id uuid NOT NULL, number text NOT NULL, dated date NOT NULL,
  total_pence bigint NOT NULL CHECK (total_pence >= 0), vat_pence bigint NOT NULL CHECK (vat_pence BETWEEN 0 AND total_pence),
  words text NOT NULL DEFAULT '', happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX ON estate.invoices (estate_id, job_id);
CREATE INDEX invoices_by_number ON estate.invoices (estate_id, firm_id, number) WHERE superseded_at IS NULL;
COMMENT ON COLUMN estate.invoices.total_pence IS 'Including VAT.';
CREATE TABLE estate.invoice_lines (
  estate_id uuid NOT NULL, invoice_id uuid NOT NULL, n integer NOT NULL, what text NOT NULL, net_pence bigint NOT NULL, vat_percent double precision NOT NULL,
  PRIMARY KEY (estate_id, invoice_id, n), FOREIGN KEY (estate_id, invoice_id) REFERENCES estate.invoices (estate_id, id));

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['invoices', 'invoice_lines'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
  FOREACH t IN ARRAY ARRAY['invoices'] LOOP
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;
