-- Every contact with a client: who, when, how, what was said, who acted. It only grows.
create table contact (
    id blob primary key check (length(id) = 16),
    client_id blob references client (id),
    horse_id blob references horse (id),
    visit_id blob references visit (id),
    follow_up_id blob references follow_up (id),
    at integer not null,
    channel text not null check (channel in ('phone', 'text', 'email', 'letter', 'in_person')),
    -- 'in': they came to us; 'out': we went to them; 'tried': nobody was reached
    way text not null check (way in ('in', 'out', 'tried')),
    -- with whom, in words: the groom is no client
    person text not null check (length(person) between 1 and 120 and instr(person, char(0)) = 0),
    words text not null check (length(words) between 1 and 2000 and instr(words, char(0)) = 0),
    by_id blob not null references staff (id),
    entered_at integer not null,
    check (client_id is not null or horse_id is not null)
) strict;
create index contact_by_client on contact (client_id, at) where client_id is not null;
create index contact_by_horse on contact (horse_id, at) where horse_id is not null;
create index contact_by_visit on contact (visit_id) where visit_id is not null;
create index contact_by_follow_up on contact (follow_up_id) where follow_up_id is not null;
create trigger contact_never_deleted before delete on contact
begin
    select raise(abort, 'contacts_are_kept');
end;
-- The horse or the client may turn out to be another row of the same one.
create trigger contact_stays before update of id, visit_id, follow_up_id, at, channel, way, person, words, by_id, entered_at
    on contact
begin
    select raise(abort, 'contacts_are_kept');
end;

-- How a client does not want to be written to. Of each way the newest line holds.
create table contact_wish (
    id blob primary key check (length(id) = 16),
    client_id blob not null references client (id),
    channel text not null check (channel in ('phone', 'text', 'email', 'letter')),
    -- 0: not this way any more; 1: again
    wanted integer not null check (wanted in (0, 1)),
    words text not null default '' check (length(words) <= 500 and instr(words, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null
) strict;
create index contact_wish_by_client on contact_wish (client_id, channel, at);
create trigger contact_wish_never_deleted before delete on contact_wish
begin
    select raise(abort, 'wishes_are_kept');
end;

-- The practice's own words of a message, in place of those that are proposed.
create table message_text (
    kind text primary key check (length(kind) between 1 and 40),
    words text not null check (length(words) between 1 and 1500 and instr(words, char(0)) = 0),
    changed_by blob not null references staff (id),
    changed_at integer not null,
    version integer not null default 1
) strict;
