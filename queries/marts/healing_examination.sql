-- One row a subject of `healing` and day on which its wound was judged: was it open, and was it at a planned examination?
-- Where two contacts of one day contradict each other the wound counts as open. Reports and telephone calls judge
-- nothing, nor does an examination on the day of surgery that found it healed. `is_open_planned` is null without a
-- planned examination.

select
    clocks.subject,
    visits.visit_day + clocks.shift as day,
    bool_or(visits.epithelialised = 'no') as is_open,
    bool_or(visits.epithelialised = 'no') filter (where visits.scheduled = 'scheduled') as is_open_planned
from stg_visits as visits
inner join operation_clock as clocks using (case_code)
where visits.is_seen
    and clocks.shift >= 0
    and (visits.epithelialised = 'no' or (visits.epithelialised = 'yes' and visits.visit_day + clocks.shift > 0))
group by clocks.subject, visits.visit_day + clocks.shift
