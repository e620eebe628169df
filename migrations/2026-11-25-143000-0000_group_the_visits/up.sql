-- One attendance may meet several duties: its rows share a visit. A pinned visit stays where a person put it.
ALTER TABLE estate.round_visits
  ADD COLUMN visit_id uuid NOT NULL DEFAULT gen_random_uuid(),
  ADD COLUMN pinned boolean NOT NULL DEFAULT false;
ALTER TABLE estate.round_visits ALTER COLUMN visit_id DROP DEFAULT;
CREATE INDEX round_visits_visit ON estate.round_visits (estate_id, visit_id);
COMMENT ON COLUMN estate.round_visits.deadline IS 'Last day it was planned for: the duty''s own last day, or the end of catching up when it is late or unknown.';
