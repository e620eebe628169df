-- A device beside the password that shows six digits (RFC 6238), asked for by large decisions. Its secret has to be read to be checked, so it cannot be hashed.
CREATE TABLE door.second_devices (
  account uuid PRIMARY KEY REFERENCES door.accounts (id), secret bytea NOT NULL CHECK (length(secret) >= 20),
  made_at timestamptz NOT NULL, set_at timestamptz, last_step bigint NOT NULL DEFAULT 0);
COMMENT ON COLUMN door.second_devices.set_at IS 'When its first digits came back right; before that it is asked for nowhere.';
COMMENT ON COLUMN door.second_devices.last_step IS 'The half minute whose digits were used last: digits are taken once.';
