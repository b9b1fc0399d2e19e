"""How many boxes of an item to keep: Poisson demand over the time that a replacement takes.

`poisson` has the rates, `marginal` the next best box, `expiry` the chance that a box expires
unused, `proposal` puts them together for one item, `demand` reads the house's own use.
"""
