-- One row a complication: its current record.

select
    animal || '-' || wound || operation as case_code,
    * exclude (load_id, ended_by)
from complications
where ended_by is null
