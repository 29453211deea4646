-- What an entry told late, or a correction, changed beyond what it says, as JSON text kept to the
-- letter, because the hash is over these letters; null of all others and of entries from before.
alter table ledger add column consequences TEXT;

-- Whether somebody made a setting so or found it so.
alter table setting add column how TEXT not null default 'made';
