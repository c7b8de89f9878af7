"""Invents two organisations and their families in telling states, all dated from the day it runs.

What is invented stands in ``fixtures/demo``; everything is written through the deeds, so the rules judge it.
"""
