-- One row a complication whose grade was set by hand, differs from the one that its treatment gives, and has no reason.

with treated as (
    select complications.row_number, max(severity.rank) as rank
    from incoming_complications as complications
    inner join code as action on action.field = 'action' and list_contains(string_split(complications.action, '; '), action.code)
    inner join (values ('minor', 1), ('major', 2), ('catastrophic', 3)) as severity (grade, rank) on severity.grade = action.grouping
    group by complications.row_number
)

select 'complications' as sheet, complications.row_number, 'grade' as field,
    format('{}, and the treatment gives {}', complications.grade, severity.grade) as value
from incoming_complications as complications
inner join treated using (row_number)
inner join (values ('minor', 1), ('major', 2), ('catastrophic', 3)) as severity (grade, rank) on severity.rank = treated.rank
where complications.grade <> severity.grade and complications.grade_reason is null
