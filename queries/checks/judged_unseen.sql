-- One row a contact at which take or healing was judged though the graft was not seen, or was reported by telephone.

select 'visits' as sheet, visits.row_number,
    case
        when visits.viable_pct is not null then 'viable_pct'
        when visits.lost_pct is not null then 'lost_pct'
        else 'epithelialised'
    end as field,
    case when contact.grouping = 'told' then contact.label else 'graft not seen' end as value
from incoming_visits as visits
left join code as contact on contact.field = 'contact' and contact.code = visits.contact
where
    (visits.graft_visible = false or contact.grouping = 'told')
    and (
        visits.viable_pct is not null
        or visits.lost_pct is not null
        or (visits.epithelialised = 'yes' and visits.graft_visible = false and contact.grouping is distinct from 'told')
    )
