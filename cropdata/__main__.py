"""`python -m cropdata` is the command line."""

from cropdata.cli import main

raise SystemExit(main())
