-- One row a reconstruction by strip, punch, stamp or pad grafts: how many pieces lived.
-- Read at the visit nearest the protocol's day at which pieces were counted, of two equally near the later.

with counted as (
    select
        visits.case_code,
        visits.visit_day,
        visits.pieces_seen,
        visits.pieces_alive,
        row_number() over (
            partition by visits.case_code
            order by abs(visits.visit_day - protocol.take_day), visits.visit_day desc, contact_group desc, contact
        ) as place
    from stg_visits as visits
    cross join protocol
    where visits.graft_visible
        and visits.is_look
        and visits.visit_day between protocol.take_from and protocol.take_to
        and visits.pieces_seen > 0
        and visits.pieces_alive is not null
)

select
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method,
    cases.location,
    reconstructions.pieces_placed,
    counted.pieces_seen,
    counted.pieces_alive,
    counted.visit_day as read_on_day,
    cases.status,
    case
        when cases.status = 'excluded' then cases.reason
        when counted.visit_day is null
            then 'pieces not counted between day ' || protocol.take_from || ' and ' || protocol.take_to
    end as reason
from case_list as cases
cross join protocol
inner join stg_reconstructions as reconstructions using (case_code)
left join counted on counted.case_code = cases.case_code and counted.place = 1
where cases.is_piece_graft
