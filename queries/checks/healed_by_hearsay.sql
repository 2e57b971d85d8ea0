-- One row a contact by telephone or report that says healed: kept, but it establishes nothing.

select 'visits' as sheet, visits.row_number, 'epithelialised' as field, contact.label as value
from incoming_visits as visits
inner join code as contact on contact.field = 'contact' and contact.code = visits.contact
where contact.grouping = 'told' and visits.epithelialised = 'yes'
