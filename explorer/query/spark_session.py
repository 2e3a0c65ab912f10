"""Spark itself: whether it can run here, how it is started, and what it raises in words of ours."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import IO, TYPE_CHECKING

from ingest.dataset import DAMAGED
from ingest.errors import EngineTrouble, LibraryDamaged

if TYPE_CHECKING:
    from pyspark.sql import SparkSession

LEAST_JAVA = 17
DEFAULT_MASTER = "local[*]"
_GET_JAVA = "install Java 17 or newer, on Debian with: apt install openjdk-17-jre-headless"
LONGEST = 200  # characters of what Spark says
_ENDED = re.compile("Network|Answer from Java|Java side is empty|Connection refused")
_BROKEN = re.compile("ExecutorLost|executor lost|Lost task|Job aborted", re.IGNORECASE)
_LACKING = re.compile("No module named '.+?'")
_DAMAGE = ("is not a Parquet file", "FAILED_READ_FILE", "CANNOT_READ_FILE", "PATH_NOT_FOUND")


@cache
def session(master: str | None) -> SparkSession:
    """The process's session of Spark. EngineTrouble when there can be none."""
    check_spark()
    check_java()
    with tempfile.TemporaryFile() as talk, spark_errors("--engine spark"):
        try:
            with quiet():
                return _started(master or DEFAULT_MASTER, talk)
        except Exception as error:
            raise EngineTrouble(
                f"--engine spark: Spark does not start ({_why(talk, error)})"
            ) from error


def check_spark() -> None:
    """EngineTrouble where the packages are missing."""
    try:
        with quiet():
            import pyspark.sql  # noqa: F401
            import sqlglot  # noqa: F401
    except ImportError as error:
        package = (error.name or "pyspark").partition(".")[0]
        raise EngineTrouble(
            f"--engine spark: {package} is not installed; "
            "install it with: pip install 'replybook[spark]'"
        ) from error


def check_java() -> None:
    """EngineTrouble where there is no Java, or one that is too old."""
    home = os.environ.get("JAVA_HOME")
    java = shutil.which("java", path=str(Path(home) / "bin") if home else None)
    if java is None:
        place = f" in JAVA_HOME ({home})" if home else ""
        raise EngineTrouble(f"--engine spark: there is no Java{place}; {_GET_JAVA}")
    said = subprocess.run([java, "-version"], capture_output=True, text=True, check=False)
    found = re.search(r'version "(?:1\.)?(\d+)', said.stderr + said.stdout)
    if found is None or int(found[1]) < LEAST_JAVA:
        version = f"version {found[1]}" if found else "of no known version"
        raise EngineTrouble(f"--engine spark: {java} is {version}; {_GET_JAVA}")


def _started(master: str, talk: IO[bytes]) -> SparkSession:
    """Java's own ``talk`` is not for whoever asks a question."""
    from pyspark import SparkConf, SparkContext
    from pyspark.java_gateway import launch_gateway
    from pyspark.sql import SparkSession

    settings = {
        "spark.master": master,
        "spark.app.name": "replybook",
        "spark.ui.enabled": "false",
        "spark.log.level": "OFF",
        "spark.sql.session.timeZone": "UTC",
    }
    if master.startswith("local"):
        settings |= {"spark.driver.bindAddress": "127.0.0.1", "spark.driver.host": "127.0.0.1"}
        settings["spark.sql.shuffle.partitions"] = str(os.cpu_count() or 1)
    conf = SparkConf().setAll(list(settings.items()))
    gateway = launch_gateway(conf, {"stderr": talk, "stdout": talk})  # type: ignore[no-untyped-call]
    context = SparkContext(conf=conf, gateway=gateway)
    if master.startswith("local"):
        context.pythonExec = sys.executable  # which has our packages, too
    return SparkSession(context)


def _why(talk: IO[bytes], error: Exception) -> str:
    """The line in which Java says what is wrong, else what Spark says."""
    talk.seek(0)
    lines = talk.read().decode(errors="replace").splitlines()
    said = [found[1] for line in lines if (found := re.search(r"(?:Exception|Error): (.+)", line))]
    return (said[0] if said else _reason(error))[:LONGEST].rstrip(".")


@contextmanager
def quiet() -> Iterator[None]:
    """Without pyspark's warnings about packages that we do not use it with."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


@contextmanager
def spark_errors(place: str) -> Iterator[None]:
    """Turn what Spark raises into one of our errors, one line each."""
    from py4j.protocol import Py4JError
    from pyspark.errors import PySparkException

    try:
        yield
    except (PySparkException, Py4JError, ConnectionError, EOFError) as error:
        if any(word in str(error) for word in _DAMAGE):
            raise LibraryDamaged(f"{place}: {DAMAGED}") from error
        raise EngineTrouble(f"{place}: {_sentence(error)}") from error


def _reason(error: Exception) -> str:
    """What it says first of all, without the names of classes and places in Java."""
    lines = str(error).splitlines() or [type(error).__name__]
    causes = [line for line in lines if re.match(r"Caused by: \S+: ", line)]
    named = [line for line in lines if "Exception: " in line]
    line = (causes[-1:] or named or lines)[0]
    said = line.rpartition("Exception: ")[2].partition(" at org.apache.")[0]
    return said.partition(". Consider setting ")[0].strip()


def _sentence(error: Exception) -> str:
    if isinstance(error, ConnectionError | EOFError) or _ENDED.search(str(error)):
        return "Spark has ended while it was asked; run the command again"
    if lacking := _LACKING.search(str(error)):
        return f"Spark's machines need Replybook, too ({lacking[0]}); install it on each of them"
    reason = _reason(error)[:LONGEST]
    if _BROKEN.search(str(error)):
        return f"a part of Spark has failed and could not be replaced ({reason})"
    return f"Spark reports: {reason}"
