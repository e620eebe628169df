DROP TABLE estate.building_roofs, estate.gap_finders, estate.heater_loans, estate.heater_facts, estate.heaters, estate.cover_facts;
