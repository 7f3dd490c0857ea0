"""Static files under names that hold a hash of what is in them, for a deployed site."""

from whitenoise.storage import CompressedManifestStaticFilesStorage

_IMPORTS = CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns[1]


class HashedManifest(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """Our own programs find those they import under the hashed names too; libraries stay as they are."""

    patterns = (*CompressedManifestStaticFilesStorage.patterns, ("catalog/js/*.js", _IMPORTS))
