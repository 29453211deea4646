-- Every reading moves dates, and each index by date moves with them. A fleet is a good part of a
-- register: its work is found by passing over that of others in the index by date, without
-- reading their rows.
drop index due_by_fleet;
drop index due_by_date;
create index due_by_date on due (due_on, subject_id, task, opens_on, fleet);
