-- What the older program has no word for cannot stay.
DELETE FROM door.qualifications WHERE covers = 'gas_plant';
ALTER TABLE door.qualifications DROP CONSTRAINT qualifications_covers_check;
ALTER TABLE door.qualifications ADD CONSTRAINT qualifications_covers_check
  CHECK (covers IN ('gas', 'unvented', 'hiu', 'electric', 'water'));
ALTER TABLE estate.duty_rules DROP COLUMN note;
