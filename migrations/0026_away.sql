-- What is away: where a component in transit is bound for, and when it or one at a contractor is
-- expected.

alter table component add column bound_for TEXT;
alter table component add column expected_on DATE;
alter table component_state add column bound_for TEXT;
alter table component_state add column expected_on DATE;
