-- One row a contact that contradicts an earlier row of the same operation and day.

select 'visits' as sheet, later.row_number,
    case when earlier.epithelialised <> later.epithelialised then 'epithelialised' else 'viable_pct' end as field,
    format('row {} of the same day', min(earlier.row_number)) as value
from incoming_visits as later
inner join incoming_visits as earlier using (case_code, visit_day)
where
    earlier.row_number < later.row_number
    and (earlier.epithelialised <> later.epithelialised or abs(earlier.viable_pct - later.viable_pct) > 10)
group by later.row_number, field
