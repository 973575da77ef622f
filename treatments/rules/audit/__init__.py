"""The manager's audit: checks A01 to A22 of records of use, as open items.

Where each is judged (regulations 7.7); the code is that of its open item:

| check | open item | judged where |
|---|---|---|
| A01 required field missing | record_incomplete | profiles, at recording and for each entry |
| A02 finalised after the limit | record_late | profiles, at recording; it stays with the record |
| A03 credential | credential | label check "license", "category" |
| A04 restricted use unsupervised | restricted_use | label check "restricted", "training" |
| A05 registration number | registration_number | `products.registration` |
| A06 amount missing | amount_missing | `products.amount` |
| A07 amounts do not fit | amounts_differ | `products.strength` |
| A08 rate | rate_off_label | label check "rate", above and below |
| A09 size missing | size_missing | `products.size` |
| A10 not on the label | not_on_label | label check "version", "place", "method", "pest" |
| A11 height, surface | pyrethroid_limit | rows "height_up", "impervious_horizontal" |
| A12 band too wide | band_too_wide | label rows "width_out", "entry_band" |
| A13 wind | wind | label row "wind"; missing where a rule asks: A01 |
| A14 times | times_impossible | `days`, at night; an end before its start is refused |
| A15 copy, notice | none yet | no delivery is recorded; a corrected copy opens "corrected_copy" |
| A16 too soon, too much | too_soon | label check "interval", "uses", "ingredient", "product_year" |
| A17 more than the stock | stock_below_zero | stock moves, when they are stored |
| A18 names | name_not_full | `names`, at night too |
| A19 log | log_not_signed | the walk before each signed head; `verify_log` |
| A20 agency notice | incident_notice, incident_notice_late | incidents and their clock |
| A21 totals | totals_differ_from_log | `check_totals` and each report |
| A22 early purge | purged_early | what was purged, at night |

An item closes by itself when its cause is gone, else a person closes it with a note.
"""
