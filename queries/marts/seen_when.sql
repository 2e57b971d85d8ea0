-- One row a reconstruction and contact day: what was seen of the wound that day.
-- Where two contacts of one day contradict each other the wound counts as open.

select
    case_code,
    visit_day as day,
    case
        when bool_or(is_seen and epithelialised = 'no') then 'open'
        when bool_or(is_seen and epithelialised = 'yes') then 'healed'
        when bool_or(is_examination) then 'not_assessable'
        else 'not_seen'
    end as what
from stg_visits
group by case_code, visit_day
