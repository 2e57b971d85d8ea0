-- One row an operation that has ended: its current record.

select
    animal || '-' || wound || operation as case_code,
    * exclude (load_id, ended_by)
from exits
where ended_by is null
