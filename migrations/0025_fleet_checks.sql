-- Checks of the fleet: cars that are looked at until a day, each with its answer. Projections.
create table fleet_check (
    -- The entry that opened it.
    id BIGINT primary key,
    title TEXT not null,
    instruction TEXT not null,
    looked_for TEXT not null,
    answer_by DATE not null,
    opened_by TEXT not null,
    opened_at TIMESTAMPTZ not null,
    cars BIGINT not null,
    unanswered BIGINT not null,
    -- When the last car answered, by which entry.
    closed_at TIMESTAMPTZ,
    closed_by BIGINT
);
create index fleet_check_open on fleet_check (answer_by, id) where closed_at is null;
create index fleet_check_closed on fleet_check (closed_at, id) where closed_at is not null;
create table fleet_check_car (
    check_id BIGINT not null references fleet_check (id),
    car_id BIGINT not null references car (id),
    -- The entry of the last answer; null until there is one.
    answered_by BIGINT,
    answer TEXT,
    remark TEXT,
    person TEXT,
    looked_at TIMESTAMPTZ,
    primary key (check_id, car_id)
);
-- What a car has yet to answer.
create index fleet_check_car_unanswered on fleet_check_car (car_id, check_id) where answered_by is null;
