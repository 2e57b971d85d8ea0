-- At most one row: every viable share of the file, 0 and 100 aside, is a multiple of 10 though there are ten or more.

select 'visits' as sheet, null::integer as row_number, 'viable_pct' as field, format('{} of {}', count(*), count(*)) as value
from incoming_visits
where viable_pct > 0 and viable_pct < 100
having count(*) >= 10 and count(*) filter (viable_pct % 10 <> 0) = 0
