-- Several clinics, each with its bot, in one database. A person has one number
-- with every bot of a platform, and platforms count updates for each bot from
-- anywhere: what was unique before is so within a clinic.

-- Rows from before belong to the one clinic that there was.
create table the_clinic (key text not null) strict;
insert into the_clinic select coalesce(
  (select min(clinic) from clinic_chat), (select min(clinic) from clinic_day),
  (select min(clinic) from household), 'clinic');

alter table carer add column clinic text not null default '';
update carer set clinic = (select clinic from household where id = carer.household);
drop index carer_chat;
-- A chat speaks for one household of a clinic.
create unique index carer_chat on carer (clinic, channel, address) where channel is not null;

drop index household_wake;
create index household_wake on household (clinic, wake_at, id) where wake_at is not null;

alter table inbox rename to inbox_before;
create table inbox (
  id integer primary key,
  clinic text not null,
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
  unique (clinic, channel, external_id)
) strict;
insert into inbox
  select id, key, channel, external_id, address, arrival, received_at, state, tries, settled_at
  from inbox_before, the_clinic;
drop table inbox_before;
create index inbox_waiting on inbox (clinic, id) where state = 'waiting';

alter table outbox add column clinic text not null default '';
update outbox set clinic = coalesce(
  (select clinic from household where id = outbox.household), (select key from the_clinic));
drop index outbox_waiting;
drop index outbox_sent;
drop index outbox_chat;
-- The order in which messages are claimed.
create index outbox_turn on outbox (clinic, lane, id) where state = 'waiting';
-- Whether an earlier one waits for the same chat; the clinic's own has no address here.
create index outbox_chat on outbox (clinic, coalesce(channel, ''), coalesce(address, ''), id)
  where state = 'waiting';
drop index outbox_buttons_differ;
create index outbox_buttons_differ on outbox (clinic, next_try_at)
  where state = 'sent' and buttons <> buttons_shown;
create index outbox_sent on outbox (clinic, channel, address, external_id)
  where external_id is not null;

alter table stranger rename to stranger_before;
create table stranger (
  clinic text not null,
  channel text not null,
  address text not null,
  answered_at integer not null,
  primary key (clinic, channel, address)
) strict;
insert into stranger select key, channel, address, answered_at from stranger_before, the_clinic;
drop table stranger_before;

drop table the_clinic;
