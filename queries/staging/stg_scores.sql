-- One row a rating of one item by one rater: its current record.

select
    animal || '-' || wound || operation as case_code,
    * exclude (load_id, ended_by)
from scores
where ended_by is null
