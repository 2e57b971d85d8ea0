"""American spelling for a manuscript that goes there; everything is first written in British."""

import re

PAIRS = {
    "anaesthesia": "anesthesia", "anaesthetic": "anesthetic", "analyse": "analyze", "analysed": "analyzed",
    "analysing": "analyzing", "behaviour": "behavior", "centimetre": "centimeter", "centre": "center",
    "colour": "color", "coloured": "colored", "colours": "colors", "diarrhoea": "diarrhea",
    "epithelialisation": "epithelialization", "epithelialised": "epithelialized", "euthanased": "euthanized",
    "favour": "favor", "favours": "favors", "generalisability": "generalizability", "grey": "gray",
    "haematoma": "hematoma", "haematomas": "hematomas", "immobilisation": "immobilization", "judgement": "judgment",
    "labelled": "labeled", "metre": "meter", "millimetre": "millimeter", "necrotising": "necrotizing",
    "neighbouring": "neighboring", "odour": "odor", "oedema": "edema", "organisation": "organization",
    "paediatric": "pediatric", "penalised": "penalized", "randomisation": "randomization",
    "randomised": "randomized", "randomising": "randomizing", "recognise": "recognize", "recognised": "recognized",
    "standardisation": "standardization", "standardise": "standardize", "standardised": "standardized",
    "summarise": "summarize", "summarised": "summarized", "tumour": "tumor", "tumours": "tumors",
    "unlabelled": "unlabeled", "unstandardised": "unstandardized", "vascularised": "vascularized",
    "euthanasing": "euthanizing", "haemorrhage": "hemorrhage", "licence": "license", "minimise": "minimize",
    "minimised": "minimized", "ischaemia": "ischemia", "devitalised": "devitalized", "practise": "practice",
    "towards": "toward", "whilst": "while", "orthopaedic": "orthopedic",
    "characterise": "characterize", "characterised": "characterized", "emphasise": "emphasize", "catalogue": "catalog",
    "honour": "honor", "honoured": "honored", "neighbour": "neighbor", "neighbours": "neighbors",
    "standardising": "standardizing", "sulphonamide": "sulfonamide", "sulphonamides": "sulfonamides",
    "theatre list": "operating-room schedule", "theatre": "operating room",
}  # fmt: skip
WORDS = re.compile(rf"\b({'|'.join(sorted(PAIRS, key=len, reverse=True))})\b", re.IGNORECASE)


def american(text: str) -> str:
    """
    The text with the British spellings of this trade and of statistics made American, capitals kept; no space before %.

    >>> american("Epithelialised by day 26; HAEMATOMA in none; the colour of the centre")
    'Epithelialized by day 26; HEMATOMA in none; the color of the center'
    >>> american("cases were found by the theatre list")
    'cases were found by the operating-room schedule'
    """
    closed = re.sub(r"(?<=\d)[ \u00a0]%", "%", text)
    return WORDS.sub(lambda found: _like(found.group(), PAIRS[found.group().lower()]), closed)


def british(text: str) -> str:
    """The text as it is."""
    return text


def _like(old: str, new: str) -> str:
    if old.isupper():
        return new.upper()
    return new.capitalize() if old[0].isupper() else new
