-- One row a load: when, of which file, and how many rows it added, changed and ended.

create table loads (
    load_id integer not null,
    loaded_on date not null,
    fingerprint varchar not null,
    rows_added bigint not null,
    rows_changed bigint not null,
    rows_ended bigint not null
)
