-- One row a contact: its current record, and whether somebody saw the wound itself.
-- A telephone call, another practice's report and a change that leaves the primary layer on show nothing of it.

select
    visits.animal || '-' || visits.wound || visits.operation as case_code,
    visits.* exclude (load_id, ended_by),
    contact.grouping as contact_group,
    coalesce(contact.is_examination, false) as is_examination,
    coalesce(contact.is_examination, false) and visits.graft_visible is distinct from false as is_seen
from visits
left join code as contact on contact.field = 'contact' and contact.code = visits.contact
where visits.ended_by is null
