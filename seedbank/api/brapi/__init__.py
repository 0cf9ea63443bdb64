"""Reading by BrAPI v2.1, the open standard by which programs of breeders and seed banks talk.

DbIds are the society's numbers. Who asks sees what the same person sees on the pages; without a
key only `serverinfo` is answered. A value that is not known is left out, as the published schemas
know no null.
"""
