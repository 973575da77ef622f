"""What a technician reads, word for word, in the cases of `test_label_rules`: a change is seen."""

WORDS: dict[str, tuple[str, ...]] = {
    "use site": (
        "Attic is not on this direction; it is for foundation wall, soil band, eave or "
        "soffit. Label 99999-101 demo, page 7. Leave out Zone A, or choose a direction "
        "that names it.",
    ),
    "method prohibited": (
        "Space treatment (fog, mist, ULV) is prohibited by this label. Label 99999-101 demo, page "
        "7. Choose perimeter band or spot.",
    ),
    "method not mentioned": (
        "Dust is not mentioned in this direction. Label 99999-101 demo, page 7. The "
        "certified applicator decides and signs before mixing.",
    ),
    "pest not named": (
        "Fly is not named in this direction. Label 99999-101 demo, page 7. The certified "
        "applicator decides and signs before mixing.",
    ),
    "customer's wish": (
        "The customer said bait only: Pat, Sep 10, 2026. The customer's own wish. Choose a bait.",
    ),
    "beneficial": (
        "Boxelder bug is beneficial. House rule: beneficial species are left alone, some "
        "are referred. Leave it alone, or vacuum and seal.",
    ),
    "above the rate": (
        "Rate 1.0093 fl oz per 1,000 sq ft; the most is 1.00 fl oz per 1,000 sq ft. Label"
        " 99999-101 demo, page 7. Put no more than 1.08 fl oz, or measure again.",
    ),
    "below the rate": (
        "Rate 0.0926 fl oz per 1,000 sq ft; the least is 0.50 fl oz per 1,000 sq ft. "
        "Label 99999-101 demo, page 7. Check the area and the amount: too little may not "
        "work.",
    ),
    "finished spray": (
        "Finished spray 8.33 gal per 1,000 sq ft; the most is 5.00. Label 99999-101 demo,"
        " page 7. Calibrate again and walk at that speed.",
    ),
    "interval": (
        "Zone A was treated 9 days ago; the label asks for 21 days. Label 99999-101 demo,"
        " page 7. Come back on or after Sep 22, 2026, or treat another zone.",
    ),
    "interval of the ingredient": (
        "Zone A had the same active ingredient in another product today; this label asks "
        "for 21 days between uses. Label 99999-101 demo, page 7. Read both labels, or "
        "choose another ingredient.",
    ),
    "booked too soon": (
        "Zone A: a visit is booked Sep 10, 2026, inside the 21 days the label asks for "
        "after this use. Label 99999-101 demo, page 7. Ask the office to move it to Oct "
        "1, 2026 or later, or use less often.",
    ),
    "uses a year": (
        "Zone A had 4 uses this year; the most is 4. Label 99999-101 demo, page 7. "
        "Inspect and seal, or choose another product.",
    ),
    "uses planned": (
        "Zone A: use 4 of 4 this year, one more is booked Dec 9, 2026. Label 99999-101 "
        "demo, page 7. Plan 1 of them without this product.",
    ),
    "product a year": (
        "1.9259 fl oz of product on 1,000 sq ft this year, most 1. Label 99999-101 demo, "
        "page 7. Choose another product, or inspect and seal.",
    ),
    "ingredient a year": (
        "80.6667 lb demothrin per acre this year, most 1. Label 99999-101 demo, page 7. "
        "Choose another ingredient, or inspect and seal.",
    ),
    "height": (
        "Zone A: height up the wall 3 ft, most 2.9. Label 99999-101 demo, page 7. Make "
        "the band lower, or leave the zone out.",
    ),
    "width": (
        "Zone A: width out 3 ft, most 2.9. Label 99999-101 demo, page 7. Make the band "
        "narrower, or leave the zone out.",
    ),
    "impervious": (
        "Zone A is concrete or asphalt; the label allows no band there. Label 99999-101 "
        "demo, page 7. Choose spot or crack and crevice, or leave the zone out.",
    ),
    "eaves in rain": (
        "Zone A is not protected from rain; the label asks for that. Label 99999-101 "
        "demo, page 7. Leave the zone out.",
    ),
    "spot": (
        "Zone A: one spot 5 sq ft, most 2. Label 99999-101 demo, page 7. Make the spot smaller.",
    ),
    "wind": (
        "Wind 11 mph, most 10. Label 99999-101 demo, page 7. Wait and measure again, or "
        "ask the office to move the visit.",
    ),
    "rain": (
        "Rain is forecast within 24 hours. Label 99999-101 demo, page 7. Ask the office to "
        "move the visit.",
    ),
    "cold": (
        "Lowest temperature 49 °F, least 50. Label 99999-101 demo, page 7. Wait and "
        "measure again, or ask the office to move the visit.",
    ),
    "heat": (
        "Highest temperature 91 °F, most 90. Label 99999-101 demo, page 7. Wait and "
        "measure again, or ask the office to move the visit.",
    ),
    "water": (
        "Distance to water 24 ft, least 25. Label 99999-101 demo, page 7. Leave out the "
        "part near the water.",
    ),
    "water drawn": (
        "Distance to water is not measured; the label's limit is 25 ft. Label 99999-101 "
        "demo, page 7. Measure it before mixing.",
    ),
    "space": (
        "Largest space 6 cu ft, most 5. Label 99999-101 demo, page 7. Choose another "
        "product or method.",
    ),
    "food area": (
        "The food area is operating. Label 99999-101 demo, page 7. Come back when it is closed.",
    ),
    "re-entry and occupants": (
        "The occupants have not understood when they may come back. Label 99999-101 demo,"
        " page 7. Tell them and leave it in writing.",
    ),
    "restricted use": (
        "This product is restricted use and you are not certified; nobody supervises. 40 "
        "CFR 171.201, restricted use. Name the certified applicator who supervises, or "
        "choose another product.",
    ),
    "no license": (
        "No license is on file for you. License on the day. Call the office: another "
        "technician can take this stop.",
    ),
    "license over": (
        "Your license ran out on Feb 28, 2027. License on the day. Call the office: "
        "another technician can take this stop.",
    ),
    "category": (
        "Your license is not known to list industrial, institutional and structural pest control: "
        "none entered. 40 CFR 171.101, categories of applicators. Ask the certified applicator in "
        "charge before mixing.",
    ),
    "label withdrawn": (
        "This label is withdrawn, not to be used after Sep 9, 2026. Label 99999-101 demo, page 7. "
        "Take a lot whose label is in force, by a direction of that label, or another product. "
        "Return or dispose of what carries this label.",
    ),
    "label unverified": (
        "Nobody but who entered this label has compared it with the printed one. Label "
        "99999-101 demo, page 7. Read the printed label; a manager verifies the entry.",
    ),
    "product expired": (
        "Lot L-1 on your truck expired on Sep 9, 2026. Lots on the truck. Take another "
        "lot from the store.",
    ),
    "lot of another label": (
        "The Demonstration A SC on your truck carries another label than this direction: "
        "lot L-1 (label of 2025). Lots on the truck. A lot is judged by the label on its "
        "container: choose a direction of that label.",
    ),
    "resistance": (
        "IRAC group 3A was used last against German cockroach here, Jun 1, 2026. House "
        "rule: not one IRAC group twice in a row. Choose a product of another group, bait"
        " or traps.",
    ),
    "repellent on bait": (
        "Bait was placed in these zones on Sep 10, 2026; keep 14 days between them. House"
        " rule: no repellent spray on or beside bait. Keep the two apart, or choose a "
        "product that does not repel.",
    ),
    "bees": (
        "Bees or hives are noted at this property. House rule: keepers of bees are told "
        "the day before. Tell their keeper the day before, and treat when no bee flies.",
    ),
    "rodent bait": (
        "Traps and sealing were not offered first. Rodenticide: house rule, the label and"
        " the state govern. Offer them; bait where they cannot reach.",
    ),
    "wall voids": (
        "What dies of Boxelder bug in a wall void draws carpet and larder beetles. House "
        "rule: no insecticide into wall voids against overwintering insects. Vacuum what "
        "comes out; seal when the voids are empty.",
    ),
    "fogging": (
        "A space treatment does not reach Boxelder bug in attics and walls. House rule: "
        "no fogging against insects that overwinter in attics and walls. Vacuum what "
        "comes out, seal the gaps, treat outside before they come in.",
    ),
    "people out": (
        "People or pets are not out. Enclosed work: common practice, no source. Wait "
        "until everybody is out and the doors are posted.",
    ),
    "older history": (
        "History before Sep 10, 2026 is not known here. Label 99999-101 demo, page 7. Ask"
        " the customer or look in the older records.",
    ),
}
PASSED = (
    "Foundation wall is on this direction.",
    "Perimeter band is on this direction.",
    "Boxelder bug is on this direction.",
    "rate 1.00, most 1.00 fl oz per 1,000 sq ft",
    "finished spray 1.00 gal per 1,000 sq ft, label 1.00 to 5.00",
    "Zone A: 21 days since the last use, label asks 21",
    "Zone A: use 2 of 4 this year",
    "License T-100 OH in force through Feb 28, 2027",
)

# severity: sentence, clause, what to do, in the cases of `test_label_words`
FINER: dict[str, tuple[str, ...]] = {
    "not begun": (
        "refuse: This label begins on Jan 1, 2027. Label 99999-101 demo, page 7. Take the"
        " label that came with this lot, or another lot.",
    ),
    "last day": (),
    "only these pests": (
        "refuse: Fly is not named in this direction. Label 99999-101 demo, page 7. Choose"
        " a direction or product that names it.",
    ),
    "state refuses pests": (
        "refuse: Fly is not named in this direction. Label 99999-101 demo, page 7. Choose"
        " a direction or product that names it.",
    ),
    "only these methods": (
        "refuse: Foam is not mentioned in this direction. Label 99999-101 demo, page 7. "
        "Choose perimeter band or spot.",
    ),
    "call first": (
        "warn: The customer asked for a call first (evenings): Pat, Sep 10, 2026. The "
        "customer's own wish. Ask before you mix.",
    ),
    "something": (
        "warn: The customer insists on something: Pat, Sep 10, 2026. The customer's own "
        "wish. Ask before you mix.",
    ),
    "some product": (
        "warn: The customer refused a product: Pat, Sep 10, 2026. The customer's own "
        "wish. Ask before you mix.",
    ),
    "this product": (
        "refuse: The customer said not Demonstration A SC: Pat, Sep 10, 2026. The "
        "customer's own wish. Choose another product.",
    ),
    "another product": (),
    "nothing inside": (
        "refuse: The customer said no pesticide inside: Pat, Sep 10, 2026. The customer's"
        " own wish. Leave out Zone A.",
    ),
    "certified": (
        "note: Restricted use, by a certified applicator 40 CFR 171.201, restricted use.",
    ),
    "supervised": (
        "note: Restricted use, under a certified supervisor 40 CFR 171.201, restricted use.",
    ),
    "supervisor not certified": (
        "refuse: The supervisor is not a certified applicator. 40 CFR 171.201, restricted"
        " use. Name the certified applicator who supervises, or choose another product.",
    ),
    "supervisor over": (
        "refuse: The supervisor's license ran out on Jan 1, 2026. 40 CFR 171.201, "
        "restricted use. Name the certified applicator who supervises, or choose another "
        "product.",
    ),
    "supervisor elsewhere": (
        "refuse: The supervisor's license is for PA; this property is in OH. 40 CFR "
        "171.201, restricted use. Name the certified applicator who supervises, or choose"
        " another product.",
    ),
    "license begins": (
        "refuse: Your license begins on Jan 1, 2027. License on the day. Call the office:"
        " another technician can take this stop.",
    ),
    "license elsewhere": (
        "refuse: Your license is for PA; this property is in OH. License on the day. Call"
        " the office: another technician can take this stop.",
    ),
    "ingredient not known": (
        "warn: demothrin put on these zones this year is not known. Label 99999-101 demo,"
        " page 7. Add it up by hand.",
    ),
    "no ingredient known": (
        "warn: Active ingredient this year is not known for these zones. Label 99999-101 "
        "demo, page 7. Add it up by hand.",
    ),
    "ingredient within": (
        "note: 0.807 lb demothrin per acre this year, most 90 Label 99999-101 demo, page 7.",
    ),
    "product not known": (
        "warn: Product put out this year is not known for these zones. Label 99999-101 "
        "demo, page 7. Add it up by hand.",
    ),
    "product within": (
        "note: 1.9259 fl oz of product on 1,000 sq ft this year, most 9 Label 99999-101 "
        "demo, page 7.",
    ),
    "product of another kind": (
        "refuse: fl oz is volume and oz (wt) is mass: one does not turn into the other. "
        "Use the label's own unit. Label 99999-101 demo, page 7.",
    ),
    "over concrete": (
        "warn: Zone A is over concrete or asphalt; product must not reach it. Label "
        "99999-101 demo, page 7. Choose spot or crack and crevice, or leave the zone out.",
    ),
    "spot on concrete": (
        "note: Zone A: only spots, cracks and crevices on concrete or asphalt Label "
        "99999-101 demo, page 7.",
    ),
    "water near": (
        "warn: Water is 30 ft away, close to the label's 25 ft. Label 99999-101 demo, "
        "page 7. Measure it on the ground, look for slope and drains.",
        "note: Distance to water 30 ft, least 25 Label 99999-101 demo, page 7.",
    ),
    "wind not measured": (
        "warn: Wind is not measured; the label's limit is 10 mph. Label 99999-101 demo, "
        "page 7. Measure it before mixing.",
    ),
    "rate not measured": (
        "warn: The rate 1.00 fl oz per 1,000 sq ft cannot be checked: what it counts was "
        "not measured. Label 99999-101 demo, page 7. Measure it and enter it.",
    ),
    "too little spray": (
        "warn: Finished spray 0.46 gal per 1,000 sq ft; the least is 1.00. Label "
        "99999-101 demo, page 7. Calibrate again and walk at that speed.",
    ),
    "another kind of amount": (
        "refuse: oz (wt) is mass; the label counts fl oz, volume. Enter it in the label's"
        " unit. Label 99999-101 demo, page 7.",
    ),
    "not answered": (
        "warn: Not answered: Are people and pets out, and kept out? Enclosed work: common"
        " practice, no source. Answer it before mixing.",
    ),
    "answered": (
        "note: Are people and pets out, and kept out? Answered: yes Enclosed work: common"
        " practice, no source.",
    ),
    "group again, not indoors": (
        "note: IRAC group 3A was used last against Boxelder bug here, Jun 1, 2026 House "
        "rule: not one IRAC group twice in a row.",
    ),
    "spray before bait": (
        "warn: A repellent product was put in these zones on Sep 10, 2026; keep 14 days "
        "between them. House rule: no repellent spray on or beside bait. Keep the two "
        "apart, or choose a product that does not repel.",
    ),
}
