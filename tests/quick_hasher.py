"""Argon2 at its least cost: tests hash the same few passwords hundreds of times."""

from __future__ import annotations

from django.contrib.auth.hashers import Argon2PasswordHasher


class QuickHasher(Argon2PasswordHasher):
    time_cost, memory_cost, parallelism = 1, 8, 1
