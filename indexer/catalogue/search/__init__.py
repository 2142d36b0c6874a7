"""From a query to passages: what is asked, what holds it, how much that counts, where it is, how it is told.

`asked` -> `holding` -> `weighing` -> `placing` -> `telling`, put in order by `answering`; `counting` counts facets.
"""
