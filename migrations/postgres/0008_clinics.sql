-- Several clinics, each with its bot, in one database. A person has one number
-- with every bot of a platform, and platforms count updates for each bot from
-- anywhere: what was unique before is so within a clinic.

-- Rows from before belong to the one clinic that there was.
create table the_clinic (key text not null);
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

alter table inbox add column clinic text not null default '';
update inbox set clinic = (select key from the_clinic);
alter table inbox alter column clinic drop default;
alter table inbox drop constraint inbox_channel_external_id_key;
-- The same thing handed over twice is one row.
alter table inbox add unique (clinic, channel, external_id);
drop index inbox_waiting;
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

alter table stranger add column clinic text not null default '';
update stranger set clinic = (select key from the_clinic);
alter table stranger alter column clinic drop default;
alter table stranger drop constraint stranger_pkey;
alter table stranger add primary key (clinic, channel, address);

drop table the_clinic;
