-- One row a record with two dates that cannot stand in their order.

with pairs as (
    select 'exits' as sheet, row_number, 'last_seen_date' as field, last_seen_day as earlier, exit_day as later
    from incoming_exits
    union all
    select 'donor_sites', row_number, 'last_open_date', last_open_day, first_healed_day
    from incoming_donor_sites
    union all
    select 'complications', row_number, 'last_free_date', last_free_day, first_seen_day
    from incoming_complications
    union all
    select 'complications', row_number, 'resolved_date', first_seen_day, resolved_day
    from incoming_complications
    union all
    select 'visits', row_number, 'next_planned_date', visit_day, next_planned_day
    from incoming_visits
)

select sheet, row_number, field, format('day {} comes after day {}', earlier, later) as value
from pairs
where earlier > later
