"""How the REST framework and the schema generator are set up; read by the settings."""

from typing import Any

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_SCHEMA_CLASS": "apps.api.schema.OperationSchema",
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "apps.api.authentication.BearerToken",
        "apps.api.authentication.Session",
    ],
    "DEFAULT_PERMISSION_CLASSES": [],
    "DEFAULT_PARSER_CLASSES": ["apps.api.strict_json.StrictJSONParser"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_CONTENT_NEGOTIATION_CLASS": "apps.api.negotiation.AlwaysJSON",
    "EXCEPTION_HANDLER": "apps.api.problem.answer_error",
    "UNAUTHENTICATED_USER": None,
    "URL_FORMAT_OVERRIDE": None,
    "COERCE_DECIMAL_TO_STRING": False,
}

SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Neighbourhood feed coordinator",
    "VERSION": "1",
    "DESCRIPTION": (
        "The same operations as the pages. Amounts are whole grams (`_g`) and millilitres "
        "(`_ml`), days local dates of the group (`_on`), instants UTC (`_at`). Every error is a "
        "problem document (RFC 9457). A POST that writes something down takes an "
        "`Idempotency-Key`; sent again, it answers what it answered first and does nothing."
    ),
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    "ENUM_NAME_OVERRIDES": {
        "DigesterKind": "apps.digesters.models.DigesterKind",
        "ReadingKind": "apps.digesters.models.ReadingKind",
        "SourceKind": "apps.supply.models.SourceKind",
        "FeedingKind": ["feeding", "reversal"],
        "StageName": "apps.digesters.models.StageName",
        "FigureEvidence": "apps.feedstock.models.Evidence",
        "StageEvidence": "apps.api.resources.stages.EVIDENCE",
        "PickupStateName": "apps.pickups.models.PickupState",
        "NoticeStateName": "apps.notices.models.NoticeState",
        "ConcernKind": "apps.digesters.models.ConcernKind",
        "ForeignKind": "apps.pickups.models.ForeignKind",
        "ForeignAdvice": "apps.api.resources.foreign_matter.ADVICE",
        "ExceptionKind": "apps.api.resources.exceptions.EXCEPTION_KINDS",
        "PailStep": "apps.pickups.models.PailStep",
        "StartStep": "apps.api.resources.start_ups.START_STEPS",
        "OutflowUse": "apps.api.resources.outflows.USES",
        "DeclineReason": "apps.api.resources.pickup_steps.DECLINE_REASONS",
        "FailureReason": "apps.api.resources.pickup_steps.FAIL_REASONS",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "apps.api.schema.document_problems",
    ],
}
