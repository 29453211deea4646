-- Visits: planned stays of units at depots.

create table visit (
    number TEXT primary key,
    unit TEXT not null,
    depot TEXT not null,
    comes_on DATE not null,
    goes_on DATE not null,
    hours BIGINT not null,
    -- The entry that planned it last.
    planned_by BIGINT not null,
    cancelled_by BIGINT
);
create index visit_by_day on visit (goes_on, number);
create index visit_by_unit on visit (unit, goes_on, number);

-- What is to be embodied during it.
create table visit_modification (
    visit TEXT not null references visit (number),
    modification TEXT not null,
    primary key (visit, modification)
);
create index visit_modification_by_modification on visit_modification (modification, visit);
