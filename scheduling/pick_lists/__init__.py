"""Pick lists: what is fetched for a case or a theatre's day, on paper and on screen.

cover check → `content` (with `absences`: what is not to hand) → `record` (kept with the version)
→ `pdf`, or the print page.  `links` and `codes`: what the QR codes say and how they are drawn.
`changes`: what differs between two versions.  A scan: `reading` (what was read) and `asking` (what
the list asks now) → `match` (the answer).  Values: `values`, `scan_values`.
"""
