"""Static files under names that carry their content's hash, so that browsers may keep them for ever."""

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """WhiteNoise's storage, which also rewrites the imports of ES modules.

    It only sees an import that ends with a semicolon; another would load the module a second time under its
    plain name.
    """

    support_js_module_import_aggregation = True
