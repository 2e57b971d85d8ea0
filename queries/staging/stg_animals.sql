-- One row an animal: its current record.

select * exclude (load_id, ended_by)
from animals
where ended_by is null
