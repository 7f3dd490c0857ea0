"""When a body may be a child's: somebody is asked before anything is predicted."""

from catalog.fitting.calc.body import BMI_RANGE, MODEL_POINTS, Person, Shape, best_measures
from catalog.fitting.calc.survey import survey

# Below this height the question is asked whatever the survey says: near its lowest one in a hundred. House judgement.
ASK_BELOW_MM = 1500


def must_say_adult(person: Person) -> bool:
    """Whether the age must be known first: none is given, and the body is small or outside the survey."""
    if person.age_years is not None:
        return False
    sizes = {measure.point: measure.value for measure in best_measures(person.measures).values()}
    return sizes.get("height", ASK_BELOW_MM) < ASK_BELOW_MM or _outside(sizes, person.shape)


def _outside(sizes: dict[str, int], shape: Shape) -> bool:
    """Whether a size, or the weight for the height, is one that fewer than 2 in 100 of the survey had."""
    model = survey()
    shapes = list(model.shapes) if shape is Shape.EITHER else [shape.value]
    for point, value in sizes.items():
        own = value / (1000 if point == "weight" else 10)
        spans = [(model.low[s][point], model.high[s][point]) for s in shapes if point in model.low[s]]
        if point in MODEL_POINTS and spans and not min(s[0] for s in spans) <= own <= max(s[1] for s in spans):
            return True
    if sizes.get("height") and "weight" in sizes:
        bmi = sizes["weight"] / 1000 / (sizes["height"] / 1000) ** 2
        return not min(BMI_RANGE[s][0] for s in shapes) <= bmi <= max(BMI_RANGE[s][1] for s in shapes)
    return False
