-- Cars, the units they run in and the trains made of them. A thing's id is the number of the
-- entry that brought it into the register, so that a rebuild gives it the same id.

create table unit (
    id BIGINT primary key,
    number TEXT not null,
    formed_by BIGINT not null,
    formed_at TIMESTAMPTZ not null
);
create unique index unit_number on unit (number);

create table car (
    id BIGINT primary key,
    number TEXT not null,
    vehicle_number TEXT,
    car_type TEXT not null,
    revision TEXT not null,
    fleet TEXT not null,
    depot TEXT not null,
    unit_number TEXT,
    unit_place SMALLINT,
    unit_orientation TEXT
);
create unique index car_number on car (number);
create index car_in_unit on car (unit_number, unit_place) where unit_number is not null;
create index car_by_vehicle_number on car (vehicle_number) where vehicle_number is not null;
create index car_by_fleet on car (fleet, depot, number);

create table train (
    id BIGINT primary key,
    name TEXT not null,
    formed_by BIGINT not null,
    formed_at TIMESTAMPTZ not null,
    -- Vehicles in order, as JSON text.
    formation TEXT not null
);
create unique index train_name on train (name);

-- Which cars a train is made of, so that the board finds trains by their cut-outs.
create table train_car (
    train_id BIGINT not null references train (id),
    place SMALLINT not null,
    car_number TEXT not null,
    orientation TEXT not null,
    primary key (train_id, place)
);
create index train_car_by_car on train_car (car_number);
