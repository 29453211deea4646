-- The due rows of a car are few and are sorted when they are read; without its dates the index
-- stays as it is when a reading moves them.
drop index due_by_car;
create index due_by_car on due (car_id);
