"""The workbench: a job seen, touched and priced in the browser; the job file stays what is kept.

The page asks for changes of the job and shows the layout that comes back; it holds no geometry.
"""
