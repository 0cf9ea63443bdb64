"""How long seed keeps: published equation, thumb rules, genebank dates and a lot's own tests.

The modules, from the bottom up: `constants` (what papers found for which species), `equation`
(Ellis and Roberts 1980), `thumbrules` (Harrington), `genebank` (when to test and regenerate), `fit`
(a lot's own tests) and `outlook` (what to expect of a lot today, from the best of these there is).
"""
