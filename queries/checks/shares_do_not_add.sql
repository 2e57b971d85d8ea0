-- One row a contact whose viable, lost and doubtful shares make more than 100 %, or less though all three are given.

with shares as (
    select row_number, viable_pct + lost_pct + coalesce(uncertain_pct, 0) as total, uncertain_pct is not null as all_given
    from incoming_visits
    where viable_pct is not null and lost_pct is not null
)

select 'visits' as sheet, row_number, 'viable_pct' as field, format('{:g} %', total) as value
from shares
where total > 101 or (all_given and total < 99)
