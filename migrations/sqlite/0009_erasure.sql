-- The one way in which an entry of the journal may be written anew: a person is
-- erased, at their request, from a household's entries. An erasure is recorded
-- first; each entry up to its last may be rewritten once, says by which erasure,
-- and stays the same kind of change, at the same instant, of the same household.
create table erasure (
  id integer primary key,
  household integer not null references household (id),
  at integer not null,
  erased_by text not null,
  last_entry integer not null
) strict;
create trigger erasure_is_append_only_update before update on erasure
  begin select raise(abort, 'erasures are only added to'); end;
create trigger erasure_is_append_only_delete before delete on erasure
  begin select raise(abort, 'erasures are only added to'); end;

alter table journal add column erasure integer references erasure (id);
drop trigger journal_is_append_only_update;
create trigger journal_is_append_only_update before update on journal
  when not (
    old.erasure is null and new.erasure is not null
    and new.id is old.id and new.household is old.household
    and new.at is old.at and new.cause is old.cause
    and json_extract(new.change, '$.change') is json_extract(old.change, '$.change')
    and exists (
      select 1 from erasure e
      where e.id = new.erasure and e.household = old.household and old.id <= e.last_entry)
  )
  begin select raise(abort, 'the journal is only added to'); end;

-- When the words of a row were let go; its other columns stay.
alter table inbox add column purged_at integer;
alter table outbox add column purged_at integer;
create index inbox_settled on inbox (clinic, settled_at) where settled_at is not null and purged_at is null;
create index outbox_settled on outbox (clinic, settled_at) where settled_at is not null and purged_at is null;
