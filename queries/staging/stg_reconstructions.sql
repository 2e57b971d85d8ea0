-- One row an operation: its current record.

select
    animal || '-' || wound || operation as case_code,
    * exclude (load_id, ended_by)
from reconstructions
where ended_by is null
