"""The words for parts of animals and plants that a law may protect.

The lists are the appendices of the Convention on International Trade in Endangered Species (1973). Which species stands
on which list is the permit office's word, never ours: the lists change.
"""

GROUPS = (
    "bird feather", "eagle", "great whale", "elephant ivory", "seal", "big cat", "crocodilian", "snake", "sea turtle",
    "rosewood", "other animal", "other plant",
)  # fmt: skip
LISTINGS = ("I", "II", "III", "none")
