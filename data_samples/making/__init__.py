"""The parts of the invented country: each module makes one kind of thing, in local metres."""
