"""A grower's season: the file that describes it and the plan that follows from it."""

from cropdata.season.plan import Plan, PlannedSowing
from cropdata.season.planning import plan_season
from cropdata.season.season_file import Packet, Place, Season, read_season

__all__ = ["Packet", "Place", "Plan", "PlannedSowing", "Season", "plan_season", "read_season"]
