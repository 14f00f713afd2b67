"""Recipes of a maker's own, as `recipes.toml` has them; invented."""

OWN = """\
[[recipe]]
key = "weak"
title = "My weak bath"
kind = "fix"
order = "Dissolve."
sequence = [{ do = "dissolve", part = 1 }]
[[recipe.part]]
substance = "Na2S2O3.5H2O"
amount = 20.0
unit = "g"
volume = 1.0
volume_unit = "L"

[[recipe]]
key = "gold_twice"
title = "My gilding bath"
kind = "gild"
order = "Pour the gold into the thiosulfate."
sequence = [
  { do = "dissolve", part = 1 }, { do = "dissolve", part = 2 }, { do = "pour", part = 1, into = 2 },
]
[[recipe.part]]
substance = "HAuCl4.3H2O"
amount = 2.0
unit = "g"
volume = 0.5
volume_unit = "L"
[[recipe.part]]
substance = "Na2S2O3.5H2O"
amount = 8.0
unit = "g"
volume = 0.5
volume_unit = "L"
"""
