-- One row a wound whose animal is not among the animals.

select 'wounds' as sheet, wounds.row_number, 'patient_number' as field, null::varchar as value
from incoming_wounds as wounds
left join incoming_animals as animals using (animal)
where animals.animal is null
