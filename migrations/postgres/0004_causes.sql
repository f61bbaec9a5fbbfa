-- What a message follows from, such as 'inbox 12': the same words as in the journal and the log.
alter table outbox add column cause text not null default '';
