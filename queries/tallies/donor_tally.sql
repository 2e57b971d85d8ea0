-- One row a kind of donor site of an eligible case: how many sites were alike, and the codes of their cases.
-- Here `animal` is a number where an animal has several donor sites.

with eligible as (
    select
        donor.*,
        count(*) over (partition by donor.animal) > 1 as is_shared,
        dense_rank() over (order by donor.animal) as number
    from donor
    inner join case_list using (case_code)
    where case_list.status = 'eligible'
)

select
    species,
    donor,
    donor_region,
    donor_closure,
    suture_out_day,
    suture_state,
    healed_left,
    healed_right,
    complications,
    status,
    reason,
    case when is_shared then number end as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from eligible
group by
    species, donor, donor_region, donor_closure, suture_out_day, suture_state, healed_left, healed_right, complications,
    status, reason, case when is_shared then number end
