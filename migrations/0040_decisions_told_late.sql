-- The last entry recorded since a decision with which it would have found something else for its own
-- moment. Entries from before this migration are told of after a rebuild.
alter table decision add column told_late_by BIGINT;
