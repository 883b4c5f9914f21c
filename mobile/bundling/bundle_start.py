"""Where a desktop bundle starts: the tablet app."""

import sys

from mobile.main import main

if __name__ == "__main__":
    sys.exit(main())
