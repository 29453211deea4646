-- Settings: what was set at positions of cars, in two times. A projection.
create table setting (
    -- The entry that recorded it.
    id BIGINT primary key,
    known_from TIMESTAMPTZ not null,
    -- When it was withdrawn or corrected; null where it holds.
    known_until TIMESTAMPTZ,
    car_id BIGINT not null references car (id),
    position TEXT not null,
    name TEXT not null,
    -- A number with its unit, a word, or revision and its text.
    set_to TEXT not null,
    since TIMESTAMPTZ not null,
    recorded_by TEXT not null
);
create index setting_by_place on setting (car_id, position, name, since);
create index setting_by_value on setting (name, set_to, car_id) where known_until is null;

-- A position can depart by what is there and by each of its settings; empty where by what is there.
create table departure_by_setting (
    car_id BIGINT not null references car (id),
    position TEXT not null,
    setting TEXT not null default '',
    -- What it is set to; null where that is not told, or no setting departs.
    set_to TEXT,
    from_on DATE not null,
    until_on DATE,
    kind TEXT not null,
    component_id BIGINT references component (id),
    fleet TEXT not null,
    depot TEXT not null,
    concession TEXT,
    covered_until DATE,
    primary key (car_id, position, setting, from_on)
);
insert into departure_by_setting (car_id, position, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until)
    select car_id, position, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until from departure;
drop table departure;
alter table departure_by_setting rename to departure;
create index departure_by_fleet on departure (fleet, car_id, position, setting, from_on);
create index departure_by_depot on departure (depot, car_id, position, setting, from_on);
create index departure_by_kind on departure (kind, car_id, position, setting, from_on);
create index departure_of_component on departure (component_id) where component_id is not null;
create index departure_under_concession on departure (concession, covered_until) where concession is not null;
create index departure_by_position on departure (position, car_id);
