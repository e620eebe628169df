-- Gas plant of a plant room is a category of its own: a domestic registration does not cover it.
ALTER TABLE door.qualifications DROP CONSTRAINT qualifications_covers_check;
ALTER TABLE door.qualifications ADD CONSTRAINT qualifications_covers_check
  CHECK (covers IN ('gas', 'gas_plant', 'unvented', 'hiu', 'electric', 'water'));
-- A duty rule stated anew says what changed and where that stands.
ALTER TABLE estate.duty_rules ADD COLUMN note text NOT NULL DEFAULT '';
