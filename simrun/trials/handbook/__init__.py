"""What a box costs on any line: a sample of race days, their races in one table, and a model fitted to it.

sampled_day (one day in figures), day_scenario (the race day they stand for), space_filling (which days),
races_of_days (run, resumable), handbook_table (what is kept), making (the command), traits (what the
model sees of a box), fitted (how the model is fitted and judged), estimate_model (its plain arrays),
told_figures (what somebody knows of a line, and the days that it may be).
"""
