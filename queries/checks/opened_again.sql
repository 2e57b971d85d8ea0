-- One row a contact that saw the wound open though an earlier one saw it healed, where no complication explains it.

with healed as (
    select visits.case_code, min(visits.visit_day) as healed_day
    from incoming_visits as visits
    inner join code as contact on contact.field = 'contact' and contact.code = visits.contact
    where visits.epithelialised = 'yes' and contact.is_examination
    group by visits.case_code
)

select 'visits' as sheet, visits.row_number, 'epithelialised' as field,
    format('open on day {}, healed on day {}', visits.visit_day, healed.healed_day) as value
from incoming_visits as visits
inner join healed using (case_code)
left join incoming_complications as complications
    on complications.case_code = visits.case_code and complications.first_seen_day >= healed.healed_day
where visits.epithelialised = 'no' and visits.visit_day > healed.healed_day and complications.case_code is null
