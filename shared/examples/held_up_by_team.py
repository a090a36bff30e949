"""Who is held up when? A mesa model with reporters of one's own, of the model and of every runner."""

from simrun.engine.model import RaceModel

model = RaceModel(
    "scenarios/dual_meet.toml",
    seed=1,
    data_every_s=5.0,
    model_reporters={"leader": lambda race: min(race.agents, key=lambda one: one.place).team},
    agent_reporters={
        "team": "team",
        "held": lambda one: not one.is_gone and one.speed_m_s < 0.9 * one.wished_m_s,
    },
)
while model.running and model.t_s < 60.0:
    model.step()

notes = model.datacollector.get_agent_vars_dataframe()
held = notes.groupby(["Step", "team"])["held"].sum().unstack()
leader = model.datacollector.get_model_vars_dataframe()["leader"]
for step, row in held.iterrows():
    counts = ", ".join(f"{team} {count}" for team, count in row.items())
    print(f"{step * model.race.step_s:4.0f} s: held up {counts}; {leader[step]} leads")
