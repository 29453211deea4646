-- Meters of cars. Meters are numbered: 0 odometer, 1 running hours, 2 compressor hours. Amounts
-- are in thousandths of the unit.

create table reading (
    car_id BIGINT not null references car (id),
    meter SMALLINT not null,
    taken_at TIMESTAMPTZ not null,
    shown BIGINT not null,
    recorded_by BIGINT not null,
    primary key (car_id, meter, taken_at)
);

create table meter_replacement (
    car_id BIGINT not null references car (id),
    meter SMALLINT not null,
    replaced_at TIMESTAMPTZ not null,
    last_shown BIGINT not null,
    first_shown BIGINT not null,
    recorded_by BIGINT not null,
    primary key (car_id, meter, replaced_at)
);

-- What forecasts start from: the last point of each meter, continuous over replacements, and
-- the daily rate with its spread.
create table meter (
    car_id BIGINT not null references car (id),
    meter SMALLINT not null,
    last_at TIMESTAMPTZ not null,
    last_usage BIGINT not null,
    last_shown BIGINT not null,
    rate_slow BIGINT,
    rate_likely BIGINT,
    rate_fast BIGINT,
    primary key (car_id, meter)
);
