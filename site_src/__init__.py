"""Makes the site: what build.py runs once its environment stands."""
