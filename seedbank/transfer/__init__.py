"""The ways in: tables of members, plants, crosses, seed and wishes, through the same acts as pages.

A table is read whole, every row is carried out by the action a page would call, and either all of
it stays or nothing does. The same file twice changes nothing.
"""
