-- The depot's time zone, by which every day is told: one row, kept when the register is first opened.
create table depot_zone (
    id SMALLINT primary key check (id = 1),
    name TEXT not null
);
