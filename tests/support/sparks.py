"""Whether tests of Spark can run here, and the settings that make them quick."""

from __future__ import annotations

import os

import pytest

from explorer.query.spark_session import check_java, check_spark
from ingest.errors import EngineTrouble

MASTER = "local[2]"
# Compiling each query takes longer than reading the few rows of a test.
QUICK = {
    "spark.sql.codegen.wholeStage": "false",
    "spark.sql.codegen.factoryMode": "NO_CODEGEN",
    "spark.sql.adaptive.enabled": "false",
}


def need_spark() -> None:
    """Skip the test where there is no Spark, saying why; fail in CI."""
    try:
        check_spark()
        check_java()
    except EngineTrouble as error:
        if "CI" in os.environ:
            pytest.fail(f"tests of Spark must run in CI: {error}")
        pytest.skip(f"no Spark here: {error}")
    words = " ".join(f"--conf {name}={value}" for name, value in QUICK.items())
    os.environ["PYSPARK_SUBMIT_ARGS"] = f"{words} pyspark-shell"
