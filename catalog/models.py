"""The door through which Django finds every table: each room's models are imported here.

Inside `catalog/` import from the room (`catalog.pieces.models`), never from this file.
"""

from catalog.access.models import *
from catalog.care.models import *
from catalog.core.models import *
from catalog.core.sent_models import *
from catalog.fitting.models import *
from catalog.loans.models import *
from catalog.pieces.models import *
from catalog.shipping.heat_models import *
from catalog.shipping.models import *
from catalog.shipping.pack_models import *
from catalog.storage.missing_models import *
from catalog.storage.models import *
from catalog.storage.receiving_models import *
from catalog.storage.scan_models import *
