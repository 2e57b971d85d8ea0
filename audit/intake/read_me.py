"""What the first sheet of the template says: how to fill it, and the cautions."""

from audit.intake.example import EXAMPLE

READ_ME = (
    ("How to fill this workbook", ""),
    ("What it is for",
     "A record of skin grafts and flaps in dogs and cats, one sheet for each kind of record, from which "
     "the practice audits its own outcomes."),
    ("What it is not",
     "It gives no clinical advice and does not say how an animal should be treated. Treatment is decided "
     "by the responsible veterinary surgeon, under the law and the rules of the place."),
    ("No names",
     "Write no name, address, telephone number, e-mail address, postcode or microchip number anywhere, in "
     "any column, and no notes that tell who the owner is. Patient numbers and staff codes are replaced by "
     "codes when the workbook is read; dates become days from surgery."),
    ("Order of work",
     "Animals, Wounds and Reconstructions once; a row in Visits for every contact; a row in Complications "
     "when something goes wrong; one row in Exits for every operation when watching ends. Fill only the "
     "sheets that apply, but keep the headings of the others."),
    ("What ties the sheets",
     "Patient number, wound letter (A when there is one wound) and operation number (1 for the first "
     "operation on that wound; grafting again is a new row with the next number)."),
    ("Columns",
     "Those in front are the short card. The others are folded away: press the + above the column "
     "headings. Leave out what you do not record; nothing is refused for it. Rest the pointer on a heading "
     "to read what it means."),
    ("When there is no value",
     "Write which it is: 'not recorded' (nobody wrote it down), 'not applicable' (there is nothing to "
     "record), 'not assessable' (somebody looked and could not tell) or 'refused' (asked, and declined). A "
     "blank cell says only that nobody has filled it yet."),
    ("Several words in a cell", "Where several words may be true, part them with a semicolon: suture; bolster."),
    ("Dates", "As year-month-day, for instance 2024-05-06."),
    ("Seen or told",
     "Say that a wound is healed only when somebody saw it, or saw a good photograph. What was told by "
     "telephone is recorded as such."),
    ("Staff",
     "Results of one colleague rest on few animals and on the cases that he or she was given. They are for "
     "learning, under rules agreed beforehand, never for ranking."),
    ("Photographs",
     "Show the wound and a scale, and no face, collar tag, tattoo, microchip reader or room. Give them a "
     "code for a name, and remove the hidden data on place and time before anybody else sees them."),
    ("Owners",
     "Consent to treatment, to the use of records, to photographs and to publication are four separate "
     "things. Record which were given, outside this workbook, and honour withdrawal."),
    ("Audit or research",
     "Publication, extra procedures, or new questions to owners may need a committee's answer in writing "
     "before records are collected."),
    ("The example row",
     f"The first row of each sheet, with patient number {EXAMPLE}, is invented and is never read. It may be "
     "deleted."),
)  # fmt: skip
"""Topic and text; the first is the title of the sheet."""
