-- One row a rating of an asked case: photograph, animal and rater stand as numbers, since raters are compared.

select
    item,
    dense_rank() over (order by animal) as animal,
    dense_rank() over (order by animal, case_code, day) as photograph,
    dense_rank() over (order by rater_code) as rater,
    rater_code is not null as is_rater_known,
    is_repeat,
    value,
    blinded_to_method,
    status as case_status
from rating
