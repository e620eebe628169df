DROP TABLE door.second_devices;
