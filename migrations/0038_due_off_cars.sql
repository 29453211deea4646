-- Due work on what is on no car, by date. It is a small part of all due work and moves with no
-- reading, so an index of its own costs little; what is on cars is found in the index by date,
-- which passes over the rest without reading it.
create index due_off_cars on due (due_on, subject_id, task, opens_on) where fleet is null;
