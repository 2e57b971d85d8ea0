-- One row an exit whose last professional examination lies before a contact at which the wound was seen.

select 'exits' as sheet, exits.row_number, 'last_seen_date' as field,
    format('day {}, and Visits has day {}', exits.last_seen_day, max(visits.visit_day)) as value
from incoming_exits as exits
inner join incoming_visits as visits using (case_code)
inner join code as contact on contact.field = 'contact' and contact.code = visits.contact
where contact.grouping = 'seen' and visits.visit_day > exits.last_seen_day
group by exits.row_number, exits.last_seen_day
