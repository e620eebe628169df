ALTER TABLE estate.duty_completions DROP COLUMN measured_k;
DROP TABLE estate.clock_pauses, estate.event_duty_facts, estate.event_duties, estate.maker_figures, estate.temperatures,
  estate.temperature_rounds, estate.outlet_facts, estate.outlets;
