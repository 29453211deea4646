-- Concessions: which departures are allowed, and until when.

alter table departure add column concession TEXT;
-- The last day on which it is allowed, past or not; the row does not change when that is over.
alter table departure add column covered_until DATE;
create index departure_under_concession on departure (concession, covered_until) where concession is not null;
create index departure_by_position on departure (position, car_id);
