-- What changed of the clinic's own people and chat, by whom and from where: the
-- other half of the audit, beside the journal of the households.
create table clinic_journal (
  id integer primary key,
  clinic text not null,
  at integer not null,
  who text not null,
  origin text not null,
  what text not null check (what in
    ('staff-invited', 'staff-joined', 'staff-removed', 'on-call', 'nobody-on-call', 'chat-code', 'chat-bound')),
  name text,
  check ((name is null) = (what in ('nobody-on-call', 'chat-code', 'chat-bound')))
) strict;
create index clinic_journal_clinic on clinic_journal (clinic, id);
create trigger clinic_journal_is_append_only_update before update on clinic_journal
  begin select raise(abort, 'the journal is only added to'); end;
create trigger clinic_journal_is_append_only_delete before delete on clinic_journal
  begin select raise(abort, 'the journal is only added to'); end;
