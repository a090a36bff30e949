"""What a box costs on any line: a sample of race days, their races in one table, and a model fitted to it.

sampled_day (one day in figures, and as a scenario), sample (which days), races_of_days (run, resumable),
table (what is kept), traits (what the model sees), estimate_model (plain arrays), fitted (how it was fitted
and judged), make (the command).
"""
