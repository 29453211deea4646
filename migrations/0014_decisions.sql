-- Checks after cut-outs as people confirmed them, and the decisions they took about trains.

create table check_confirmed (
    id BIGINT primary key,
    -- The entry of the cut-out; its row is written anew with each change, so nothing refers to it.
    isolation_id BIGINT not null,
    check_kind TEXT not null,
    confirmed_by TEXT not null,
    confirmed_at TIMESTAMPTZ not null
);
create index check_of_isolation on check_confirmed (isolation_id, id);

create table decision (
    id BIGINT primary key,
    train TEXT not null,
    decided_at TIMESTAMPTZ not null,
    recorded_by TEXT not null,
    -- What was decided, as JSON text.
    body TEXT not null,
    -- The first entry after it that can move its verdict, and what that changed.
    void_by BIGINT,
    void_because TEXT
);
create index decision_of_train on decision (train, id);
create unique index decision_stands on decision (train) where void_by is null;

-- The cars of the decisions that stand, so that a change to a car finds them.
create table decision_car (
    decision_id BIGINT not null references decision (id),
    car_number TEXT not null,
    primary key (decision_id, car_number)
);
create index decision_by_car on decision_car (car_number);
