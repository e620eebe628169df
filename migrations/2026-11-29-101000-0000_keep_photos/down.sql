DROP TABLE estate.enclosures, estate.enclosure_bodies;
