-- One row a donor site: its current record.

select
    animal || '-' || wound || operation as case_code,
    * exclude (load_id, ended_by)
from donor_sites
where ended_by is null
