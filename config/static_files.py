"""Static files under names that carry their content's hash, so that browsers may keep them for ever."""

from whitenoise.storage import CompressedManifestStaticFilesStorage

EXTENSION, PATTERNS = CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns


class HashedStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """WhiteNoise's storage, which also rewrites the imports of ES modules.

    It only sees an import that ends with a semicolon; another would load the module a second time under its
    plain name.
    """

    support_js_module_import_aggregation = True
    # Without import(...), which here stands in comments alone, as a type: taken for code, two modules with
    # types of each other would be a circle of imports, for which there are no hashed names.
    _js_module_import_aggregation_patterns = (
        EXTENSION,
        tuple(pattern for pattern in PATTERNS if r"import\(" not in pattern[0]),
    )
    # A pass may carry a changed name one import further up only; Django's five are for style sheets.
    max_post_process_passes = 30
