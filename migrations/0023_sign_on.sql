-- Single sign-on: whom another system vouches for, and which account is theirs. Not in the ledger.

-- Sign-ons that have begun and not come back, of all servers. What proves them is in the cookie of
-- the browser alone.
create table sign_on_pending (
    -- SHA-256 of the state that the provider gives back.
    state_hash BYTEA primary key,
    begun_at TIMESTAMPTZ not null
);
create index sign_on_pending_begun on sign_on_pending (begun_at);

create table outside_identity (
    issuer TEXT not null,
    subject TEXT not null,
    -- What the provider called them when they were bound.
    called TEXT not null,
    account TEXT not null references account (name) on delete cascade,
    primary key (issuer, subject)
);
create index outside_identity_account on outside_identity (account);

-- Who was vouched for and is bound to no account: the latest of them.
create table unbound_identity (
    issuer TEXT not null,
    subject TEXT not null,
    called TEXT not null,
    seen_at TIMESTAMPTZ not null,
    -- The network address they came from.
    client TEXT not null,
    primary key (issuer, subject)
);
create index unbound_identity_seen on unbound_identity (seen_at);

-- How it was opened: password or sign_on.
alter table session add column way TEXT not null default 'password';
