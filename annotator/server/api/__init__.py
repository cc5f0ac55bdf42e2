"""The JSON API, one module a subject. Each view reads the request, calls one function below the server, and answers with a view model."""

from annotator.server.api.bin import api as bin_
from annotator.server.api.captions import api as captions
from annotator.server.api.courses import api as courses
from annotator.server.api.editions import api as editions
from annotator.server.api.jobs import api as jobs
from annotator.server.api.listening import api as listening
from annotator.server.api.stations import api as stations
from annotator.server.api.stills import api as stills
from annotator.server.api.uploads import api as uploads

ALL = (uploads, jobs, editions, stills, courses, stations, listening, captions, bin_)

__all__ = ["ALL"]
