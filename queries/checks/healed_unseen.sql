-- One row an exit as healed where no contact saw the wound healed.

with seen as (
    select visits.case_code
    from incoming_visits as visits
    inner join code as contact on contact.field = 'contact' and contact.code = visits.contact
    where visits.epithelialised = 'yes' and contact.is_examination
)

select 'exits' as sheet, exits.row_number, 'exit_reason' as field, replace(exits.exit_reason, '_', ' ') as value
from incoming_exits as exits
inner join code as reason on reason.field = 'exit_reason' and reason.code = exits.exit_reason
where reason.is_healed and exits.case_code not in (select case_code from seen)
