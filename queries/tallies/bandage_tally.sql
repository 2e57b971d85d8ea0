-- One row a course of bandage changes: how many cases had it, and their codes.

with changed as (
    select case_code, list(day order by day) as change_days
    from bandage_change
    group by case_code
)

select
    bandage.species,
    bandage.method_group,
    bandage.changes,
    bandage.first_change_day,
    bandage.longest_gap,
    bandage.changes_by_7,
    bandage.changes_by_14,
    bandage.changes_by_21,
    bandage.followed_to,
    coalesce(changed.change_days, []) as change_days,
    healing.right_day as healed_day,
    bandage.status,
    bandage.reason,
    shared_animal.number as animal,
    count(*) as weight,
    list(case_code order by case_code) as case_codes
from bandage
left join changed using (case_code)
left join healing using (case_code)
left join shared_animal on shared_animal.animal = bandage.animal
where bandage.status = 'eligible' or bandage.reason = 'bandage changes not recorded'
group by 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14
