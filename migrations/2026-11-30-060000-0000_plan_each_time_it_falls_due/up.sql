-- A duty that falls due again within the round has a visit for each time: the first is the next date, the others follow it.
ALTER TABLE estate.round_visits ADD COLUMN nth integer NOT NULL DEFAULT 1 CHECK (nth BETWEEN 1 AND 400);
COMMENT ON COLUMN estate.round_visits.nth IS 'Which time within the round the duty is met by it: 1 = its next date; what comes after follows the visits before it and becomes no job before they are made.';
