"""Starting texts that an archive rewrites for itself. Plainly worded; no lawyer wrote them, and none is replaced.

One term a line: its name, a colon, its words. What such terms usually cover follows the published loan conditions of
three museums: the National Army Museum (London), the Oliewenhuis Art Museum and the Museum of Danish America.
"""

LOAN_TERMS = "\n".join(
    (
        "Use: The pieces are used for the purpose, on the days and at the places named above and for nothing else. "
        "Another purpose, day or place needs the lender's yes in writing first.",
        "Cover: The borrower covers each piece at the value listed, nail to nail: from the moment it leaves its "
        "place in the store until it is back there. Proof of the cover reaches the lender before anything leaves.",
        "Packing and transport: The lender chooses the packing and the carrier, for both ways. The pieces travel back "
        "packed as they came.",
        "Handling: Only people whom the borrower names handle the pieces, as the lender shows them: clean hands or "
        "gloves, no food, drink or smoke near them. Nothing is left where strangers can reach it.",
        "Climate and light: The pieces are kept dry, out of the sun and away from heaters and lamps. Nothing waits in "
        "a closed vehicle in the sun.",
        "Alteration and cleaning: Nothing is cut, dyed, painted, glued, repaired, washed or cleaned unless the lender "
        "has agreed to it in writing, piece by piece.",
        "Labels: Numbers and labels stay on. A label that came off is kept with its piece and reported.",
        "Pictures and credit: Pictures for continuity and for the condition of a piece may be taken. Any other use of "
        "pictures needs the lender's yes; the credit line is the one that the lender gives.",
        "Damage and loss: The borrower tells the lender of any damage or loss within 2 working days, and in writing, "
        "with pictures, within 10. The piece is not used, mended or thrown away until the lender has answered.",
        "Costs: Each side pays what is listed above as its own. Other costs are agreed in writing before they arise.",
        "Recall: The lender may ask for a piece back at any time, in writing and with the reason; it is back within 10 "
        "days.",
        "Return: Everything is back on the day named above, with each half and each detachable part. Both sides look "
        "at the pieces and sign what they found. Keeping a piece longer needs a new agreement first.",
        "No transfer: The borrower lends, hires, pledges or sells the pieces to nobody.",
    )
)
WORN_TERMS = "\n".join(
    (
        "Who dresses: Only the wardrobe people whom the lender knows by name put the pieces on performers and take "
        "them off. Pieces come off for meals and overnight.",
        "Hours worn: No piece is worn longer than the minutes that its label or the list gives it.",
        "Stunts, water and blood: Nothing is used for stunts, in water, rain or mud, or with stage blood unless the "
        "list says so for that piece.",
        "Alterations: Hems and seams may be stitched by hand with a thread that shows, and are undone before return; "
        "let-out seams stay uncut.",
        "Heat: The borrower has a plan for heat: shade, water, rest, and somebody who may stop the work. The set's "
        "medic and the local rules decide.",
        "Spare and remake: Where a spare or a copy exists it is worn first.",
    )
)
