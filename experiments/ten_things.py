"""The ten main lessons of the experiments, each with the numbers that its experiment found."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Thing:
    """One lesson."""

    rule: str  # to remember
    proof: str  # its numbers, the same as under Found in the experiment
    experiment: str  # name of the script


THINGS = (
    Thing("Turning one nipple changes its neighbours too.",
          "A quarter turn of a front wheel's right nipple moves the rim 0.19 mm right beside it and gives its spoke "
          "83 N; the nearest right spokes lose 37 and 34 N.",
          "quarter_turn"),
    Thing("The gap at the dish gauge is twice the rim's offset.",
          "A rim 1.50 mm to the left, read on the left, shows 3.00 mm at the hub; read on the right both feet lift "
          "3.00 mm, and with one resting the other lifts 6.00 mm.",
          "gap_is_twice"),
    Thing("The nearer flange is the tighter one, because its spokes lean less.",
          "With flanges 19 and 36 mm from the middle the far side carries 0.531 of the near side's tension: each spoke "
          "then pulls 75.5 N sideways.",
          "near_flange"),
    Thing("The far flange moves the rim more, and costs the tight side less.",
          "A quarter turn of all of a dished rear's far side: 0.58 mm, for 49 N on the near side. Of the near side: "
          "0.35 mm, for 125 N.",
          "which_flange"),
    Thing("Centre a tight wheel by loosening the far side; tightening the near one overloads it.",
          "A dished rear, rim 1.5 mm left: tightening the right alone takes a spoke to 1,652 N where 1,270 N is "
          "allowed; loosening the left 1/2 and tightening the right 1/4 ends at 1,181 N.",
          "which_way"),
    Thing("Loosen first, then tighten: the end is the same, the way is not.",
          "On a dished rear that runs true, such turns peak at 1,181 N one way round and at 1,280 N the other, where "
          "1,270 N is allowed.",
          "loosen_first"),
    Thing("True before dish: the gauge's feet stand on the wobble.",
          "At 0.5 mm of run-out a saddle can show a false gap of 0.50 mm; two readings a quarter round and their mean "
          "leave below 0.001 mm of it.",
          "true_before_dish"),
    Thing("Tighter is not stiffer, as long as no spoke is slack.",
          "A front wheel's lateral stiffness is 137 N/mm at 1,000 N, 129 N/mm at 1,200 N and none at 2,659 N, "
          "where it buckles. Where a spoke hangs slack it has 91 N/mm: loose wheels are softer for that.",
          "tighter_is_not_stiffer"),
    Thing("A slack spoke is a broken spoke.",
          "Either bends a front wheel's rim 2.73 mm out of true, takes the next spoke of its flange to 1,432 N, and "
          "brings the load on the wheel at which the next one goes slack from 2,288 to 1,216 N.",
          "broken_spoke"),
    Thing("No nipple mends a bent rim.",
          "Of a bend of 5.0 mm the best turns leave 2.84 mm at a spread of 20 %, and still 2.60 mm at 60 %. A straight "
          "rim as far out comes true to 0.00 mm.",
          "bent_rim"),
)
