"""A grower's season: the file that describes it and the plan that follows from it."""

from cropdata.season.plan import Plan, PlannedSowing
from cropdata.season.planning import plan_season
from cropdata.season.season_file import read_season, season_of
from cropdata.season.season_parts import Kit, Packet, Place, Season

__all__ = ["Kit", "Packet", "Place", "Plan", "PlannedSowing", "Season", "plan_season", "read_season", "season_of"]
