-- One row a wound: its current record.

select * exclude (load_id, ended_by)
from wounds
where ended_by is null
