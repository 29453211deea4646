-- Work done, and when work is due.

-- A task as it was done on a component or a car; one task may count for others, each a row.
create table work_done (
    recorded_by BIGINT not null,
    task TEXT not null,
    component_id BIGINT references component (id),
    subject_car_id BIGINT references car (id),
    done_at TIMESTAMPTZ not null,
    -- The car it was on then, or the car itself, and what that car had run.
    car_id BIGINT references car (id),
    odometer BIGINT,
    running_hours BIGINT,
    compressor_hours BIGINT,
    primary key (recorded_by, task),
    check ((component_id is null) <> (subject_car_id is null))
);
create index work_done_on_component on work_done (component_id, done_at) where component_id is not null;
create index work_done_on_car on work_done (subject_car_id, done_at) where subject_car_id is not null;
create index work_done_by_host on work_done (car_id, done_at);

-- One row for each task of each component and car. The due points stay until work is done or
-- the component moves; the dates follow the readings. A list is a read of one of the indexes.
create table due (
    -- The component or the car that the work is done on.
    subject_id BIGINT not null,
    task TEXT not null,
    -- Null for a car as a whole.
    component_id BIGINT references component (id),
    part TEXT,
    -- Where the component is fitted; null in store.
    car_id BIGINT references car (id),
    position TEXT,
    fleet TEXT,
    depot TEXT,
    -- The forecast.
    due_on DATE,
    early_on DATE,
    late_on DATE,
    opens_on DATE,
    latest_on DATE,
    set_by TEXT,
    -- What is lacking, as JSON text; null where everything is known.
    lacking TEXT,
    -- The due points: where each limit lies, or in the last column why that is not known.
    calendar_opens DATE,
    calendar_due DATE,
    calendar_latest DATE,
    calendar_unknown TEXT,
    odometer_opens BIGINT,
    odometer_due BIGINT,
    odometer_latest BIGINT,
    odometer_unknown TEXT,
    running_hours_opens BIGINT,
    running_hours_due BIGINT,
    running_hours_latest BIGINT,
    running_hours_unknown TEXT,
    compressor_hours_opens BIGINT,
    compressor_hours_due BIGINT,
    compressor_hours_latest BIGINT,
    compressor_hours_unknown TEXT,
    primary key (subject_id, task)
);
-- The day a window opens is in the index so that what is not yet in its window is passed over
-- without being read.
create index due_by_date on due (due_on, subject_id, task, opens_on);
create index due_by_fleet on due (fleet, due_on, subject_id, task, opens_on);
create index due_by_depot on due (depot, due_on, subject_id, task, opens_on);
create index due_by_car on due (car_id, due_on, subject_id, task);
create index due_by_part on due (part, due_on, subject_id, task, opens_on);
-- What cannot be told is a list of its own.
create index due_unknown on due (subject_id, task) where lacking is not null;
create index due_unknown_by_fleet on due (fleet, subject_id, task) where lacking is not null;
create index due_unknown_by_depot on due (depot, subject_id, task) where lacking is not null;
create index due_unknown_by_part on due (part, subject_id, task) where lacking is not null;

-- What an import or a rebuild has yet to work out anew; empty at the end of every transaction.
create table stale_car (
    car_id BIGINT primary key
);
create table stale_component (
    component_id BIGINT primary key
);
