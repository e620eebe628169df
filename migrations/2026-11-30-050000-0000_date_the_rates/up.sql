-- Rates of later years, beside the rate of the first: the published schedule falls with distance. [{"after": 30, "rate": 0.03}, …]
ALTER TABLE estate.rates ADD COLUMN later jsonb NOT NULL DEFAULT '[]';
COMMENT ON COLUMN estate.rates.later IS 'Rates of later years, in order: after the year named, counted from 1; empty: the same in every year.';
-- An estate founded before goes by the schedule it was founded on, whole: a further row, a microsecond after the one it stands for,
-- so that what the desk stated since still comes after it.
ALTER TABLE estate.rates NO FORCE ROW LEVEL SECURITY;
INSERT INTO estate.rates (estate_id, id, annual_real_rate, status, as_at, happened_on, recorded_at, recorded_by, later)
SELECT estate_id, gen_random_uuid(), annual_real_rate, 'HM Treasury, The Green Book, discounting: 3.5 % for 30 years, then falling', as_at, happened_on,
       recorded_at + interval '1 microsecond', recorded_by,
       '[{"after": 30, "rate": 0.03}, {"after": 75, "rate": 0.025}, {"after": 125, "rate": 0.02}, {"after": 200, "rate": 0.015}, {"after": 300, "rate": 0.01}]'
FROM estate.rates
WHERE superseded_at IS NULL AND annual_real_rate = 0.035 AND status = 'HM Treasury, The Green Book, discounting annex: 3.5 % for years 0 to 30 (from memory)';
ALTER TABLE estate.rates FORCE ROW LEVEL SECURITY;
