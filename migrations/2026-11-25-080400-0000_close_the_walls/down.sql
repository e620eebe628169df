DO $$
DECLARE t text;
BEGIN
  FOR t IN SELECT tablename FROM pg_tables WHERE schemaname = 'estate' LOOP
    EXECUTE format('DROP TRIGGER IF EXISTS supersede_once ON estate.%I', t);
    EXECUTE format('DROP POLICY one_estate ON estate.%I', t);
    EXECUTE format('ALTER TABLE estate.%I NO FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I DISABLE ROW LEVEL SECURITY', t);
  END LOOP;
END $$;
DROP FUNCTION estate.supersede_once();
