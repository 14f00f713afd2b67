"""Inputs made to do harm, sent to the real programs: command lines, requests, messages."""
