-- What the program's own role may do; run after the migrations, by the owner, each time.
GRANT USAGE ON SCHEMA door, estate TO riserward_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA door TO riserward_app;
GRANT SELECT, INSERT ON ALL TABLES IN SCHEMA estate TO riserward_app;
DO $$
DECLARE t text;
BEGIN
  FOR t IN SELECT c.table_name FROM information_schema.columns c JOIN pg_tables p ON p.schemaname = 'estate' AND p.tablename = c.table_name
           WHERE c.table_schema = 'estate' AND c.column_name = 'superseded_at' LOOP
    EXECUTE format('GRANT UPDATE (superseded_at) ON estate.%I TO riserward_app', t);
  END LOOP;
END $$;
GRANT UPDATE (state, report, mapping, rows, done_at, undone_at, body, kind, sheet, findings) ON estate.imports TO riserward_app;
GRANT UPDATE (words, done, of_all, said_at) ON estate.import_progress TO riserward_app;
GRANT UPDATE (body) ON estate.import_files TO riserward_app;
GRANT UPDATE (state, state_at, version, firm_id, engineer_id, booked_from, booked_until, closed_at, cost_pence, due_at, due_why, unit_id, function_lost, words) ON estate.jobs TO riserward_app;
GRANT UPDATE (answer, answered_at, answered_by, reason, counter_from, counter_until) ON estate.offers TO riserward_app;
GRANT UPDATE (left_at, outcome) ON estate.visits TO riserward_app;
GRANT UPDATE (told_at, told_by) ON estate.tellings TO riserward_app;
GRANT UPDATE (job_id, outage_id, answered) ON estate.fault_calls TO riserward_app;
GRANT UPDATE (until_at, cause, proof) ON estate.outages TO riserward_app;
GRANT UPDATE (retested_at, retest) ON estate.outage_spaces TO riserward_app;
GRANT UPDATE (ended_on) ON estate.duties TO riserward_app;
GRANT UPDATE (job_id, on_day, start_minute, firm_id, engineer_id, second_engineer_id, pinned, unplaced_why) ON estate.round_visits TO riserward_app;
GRANT UPDATE (cleared_at, cleared_by, cleared_registration) ON estate.notices TO riserward_app;
GRANT UPDATE (name, phone, until_on, stripped_at) ON estate.residents TO riserward_app;
GRANT UPDATE (need, until_on) ON estate.needs TO riserward_app;
GRANT UPDATE (salt, body, stripped_at) ON estate.audit_bodies TO riserward_app;
GRANT DELETE ON estate.words TO riserward_app;
