-- One row a donor site with a day of suture removal though there was nothing to remove, or removed without a day.

select 'donor_sites' as sheet, sites.row_number, 'suture_out_date' as field,
    case when sites.suture_out_day is null then format('{}, without a date', state.label) else state.label end as value
from incoming_donor_sites as sites
inner join code as state on state.field = 'suture_state' and state.code = sites.suture_state
where
    (state.grouping = 'none_to_remove' and sites.suture_out_day is not null)
    or (
        sites.suture_state in ('all_out', 'staples_out')
        and sites.suture_out_day is null
        and sites.absent not like '%suture_out_date=%'
    )
