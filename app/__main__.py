"""`python -m app` is the command `strikewell`."""

from app.cli.main import main

raise SystemExit(main())
