-- One row an operation whose sheet or mesh graft and uncovered rest differ from the wound by more than a fifth.
-- Only the first operation on a wound: the measured wound is that one.

select 'reconstructions' as sheet, operations.row_number, 'graft_area_cm2' as field,
    format('{:g} + {:g} cm2, wound {:g} cm2', operations.graft_area_cm2, operations.uncovered_area_cm2, wounds.area_cm2) as value
from incoming_reconstructions as operations
inner join incoming_wounds as wounds using (animal, wound)
inner join code as method on method.field = 'done_method' and method.code = operations.done_method
where
    method.is_free_graft
    and method.grouping <> 'piece_graft'
    and operations.operation = 1
    and abs(operations.graft_area_cm2 + operations.uncovered_area_cm2 - wounds.area_cm2) > 0.2 * wounds.area_cm2
