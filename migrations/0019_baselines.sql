-- Baselines: modification states of components, and where cars depart from the revision of their
-- type that is in force for them.

alter table component add column modification_state TEXT;
alter table component_state add column modification_state TEXT;

-- Which position of which car departs from its baseline, from which day on until which. That
-- follows from the ledger alone, so that no row changes by the passing of a day.
create table departure (
    car_id BIGINT not null references car (id),
    position TEXT not null,
    -- The first day; that of 1900 where it departs from the beginning.
    from_on DATE not null,
    -- The first day on which it no longer does; null where it goes on.
    until_on DATE,
    kind TEXT not null,
    -- What is there; null where nothing is.
    component_id BIGINT references component (id),
    -- As registered, so that a list by fleet or depot is a read of one index.
    fleet TEXT not null,
    depot TEXT not null,
    primary key (car_id, position, from_on)
);
create index departure_by_fleet on departure (fleet, car_id, position, from_on);
create index departure_by_depot on departure (depot, car_id, position, from_on);
create index departure_by_kind on departure (kind, car_id, position, from_on);
create index departure_of_component on departure (component_id) where component_id is not null;

-- Cars whose departures must be worked out anew while many entries are recorded.
create table stale_departure (
    car_id BIGINT primary key
);
