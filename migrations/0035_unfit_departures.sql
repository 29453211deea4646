-- What is fitted and not serviceable, and what an assembly on a car lacks, departs too: at a place
-- where something departs already as well, so that how it departs is part of what a row is known by.
-- What departed so before this migration comes with a rebuild, or with the next entry about the place.
create table departure_by_kind_too (
    car_id BIGINT not null references car (id),
    position TEXT not null,
    -- Empty where it departs by what is there.
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
    primary key (car_id, position, setting, kind, from_on)
);
insert into departure_by_kind_too (car_id, position, setting, set_to, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until)
    select car_id, position, setting, set_to, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until from departure;
drop table departure;
alter table departure_by_kind_too rename to departure;
create index departure_by_fleet on departure (fleet, car_id, position, setting, kind, from_on);
create index departure_by_depot on departure (depot, car_id, position, setting, kind, from_on);
create index departure_by_kind on departure (kind, car_id, position, setting, from_on);
create index departure_of_component on departure (component_id) where component_id is not null;
create index departure_under_concession on departure (concession, covered_until) where concession is not null;
create index departure_by_position on departure (position, car_id);
