-- What each zone's clock was going to do when the instants in this database
-- were resolved, by which release. Where a newer program knows better, the
-- households of that zone are looked at afresh.
create table zone_rules (
  zone text primary key,
  release text not null,
  resolved_until bigint not null,
  rules text not null
);
