-- One row a contact with more pieces alive than seen, or more seen or alive than were placed.

select 'visits' as sheet, visits.row_number, 'pieces_alive' as field,
    concat_ws(', ', visits.pieces_alive || ' alive', visits.pieces_seen || ' seen', operations.pieces_placed || ' placed') as value
from incoming_visits as visits
inner join incoming_reconstructions as operations using (case_code)
where
    visits.pieces_alive > visits.pieces_seen
    or visits.pieces_seen > operations.pieces_placed
    or visits.pieces_alive > operations.pieces_placed
