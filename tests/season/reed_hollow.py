"""An invented place: 28 April is the date with an even chance of a later frost, 15 May that of one year in ten."""

PLACE = {
    "name": "Reed Hollow (invented)",
    "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"},
    "first_autumn_frost": {0.1: "10-01", 0.25: "10-10", 0.5: "10-19", 0.75: "11-01", 0.9: "11-11"},
    "bench_temperature_c": 20,
}
# Monthly means of a soil that warms up late, in °C, January first.
COLD_SPRING = [0, 0, 2, 7, 13, 18, 21, 21, 17, 11, 6, 2]
