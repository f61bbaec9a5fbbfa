-- Whether an earlier message waits for the same chat is asked of this index alone: its
-- condition is one that no other question shares, and that question has no other. Where
-- both fit, the server went by the index of turns while that was a page and this one two,
-- and kept to it when tens of thousands waited.
drop index outbox_chat;
create index outbox_chat on outbox (clinic, coalesce(channel, ''), coalesce(address, ''), id)
  where case when state = 'waiting' then true end;
