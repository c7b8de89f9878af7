#!/usr/bin/env python
"""Django's command line for this project."""

import os
import sys

from django.core.management import execute_from_command_line

from training.environment import work_as_owner

if __name__ == "__main__":
    work_as_owner(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.settings")
    execute_from_command_line(sys.argv)
