-- One row a contact at which the wound was seen after the day on which the record says that the animal died.

select 'visits' as sheet, visits.row_number, 'visit_date' as field,
    format('day {}, and the exit says {} on day {}', visits.visit_day, replace(exits.exit_reason, '_', ' '), exits.exit_day) as value
from incoming_visits as visits
inner join incoming_exits as exits using (case_code)
inner join code as reason on reason.field = 'exit_reason' and reason.code = exits.exit_reason
inner join code as contact on contact.field = 'contact' and contact.code = visits.contact
where
    reason.is_death
    and visits.visit_day > exits.exit_day
    and contact.is_examination
