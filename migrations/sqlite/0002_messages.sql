-- What came in, stored as it came before anybody looked at it.
create table inbox (
  id integer primary key,
  channel text not null,
  external_id text not null,
  address text not null,
  arrival text not null,
  received_at integer not null,
  state text not null check (state in ('waiting', 'settled', 'quarantined')),
  tries integer not null check (tries >= 0),
  settled_at integer,
  check ((state = 'waiting') = (settled_at is null)),
  -- The same thing handed over twice is one row.
  unique (channel, external_id)
) strict;
create index inbox_waiting on inbox (id) where state = 'waiting';

-- What is to be said: committed together with what it speaks of, sent afterwards.
create table outbox (
  id integer primary key,
  household integer references household (id),
  -- The carer's number; 0 for the clinic and for strangers.
  carer integer not null,
  -- Null: the clinic's chat, wherever it is by then.
  channel text,
  address text,
  language text not null,
  kind text not null,
  message text not null,
  -- 0 emergencies, 1 alerts and replies, 2 reminders.
  lane integer not null check (lane in (0, 1, 2)),
  created_at integer not null,
  useful_until integer,
  next_try_at integer not null,
  lease_until integer,
  tries integer not null check (tries >= 0),
  state text not null check (state in ('waiting', 'sent', 'late', 'gone', 'refused')),
  external_id text,
  settled_at integer,
  check ((channel is null) = (address is null)),
  check ((state = 'waiting') = (settled_at is null)),
  check ((state = 'sent') = (external_id is not null))
) strict;
create index outbox_waiting on outbox (next_try_at, id) where state = 'waiting';
create index outbox_sent on outbox (channel, address, external_id) where external_id is not null;
create index outbox_chat on outbox (channel, address, id) where state = 'waiting';

create table invitation (
  -- SHA-256 of the code. The message with the link stays in the outbox; the
  -- code in it is worth nothing once it was used or is too old.
  code_hash text primary key,
  household integer not null,
  carer integer not null,
  created_at integer not null,
  expires_at integer not null,
  used_at integer,
  -- Made in the transaction that makes the carer, and before it.
  foreign key (household, carer) references carer (household, no) deferrable initially deferred
) strict;

create table clinic_chat (
  clinic text primary key,
  channel text not null,
  address text not null
) strict;

-- Until when the clinic was told of its day.
create table clinic_day (
  clinic text primary key,
  digest_at integer not null
) strict;

-- Strangers get the phone number now and then, and nobody at the clinic hears of it.
create table stranger (
  channel text not null,
  address text not null,
  answered_at integer not null,
  primary key (channel, address)
) strict;
