-- The key of one account on one tablet: what waits there is sealed with it. Kept wrapped; the wrapping key is a file
-- beside this one.
create table tablet_key (
    staff_id blob not null references staff (id),
    device_id blob not null check (length(device_id) = 16),
    -- nonce, sealed key, tag
    wrapped_key blob not null check (length(wrapped_key) = 60),
    created_at integer not null,
    primary key (staff_id, device_id)
) strict;
create trigger tablet_key_stays before update on tablet_key
begin
    select raise(abort, 'keys_are_kept');
end;
