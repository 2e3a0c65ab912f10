"""What stands in the way of Spark is one line, and the words for it are right; no Java needed."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from explorer.query.spark_session import check_java, check_spark, session, spark_errors
from ingest.errors import EngineTrouble, LibraryDamaged

LINE = "install Java 17 or newer, on Debian with: apt install openjdk-17-jre-headless"


def java(folder: Path, says: str) -> None:
    """A program called java that says its version."""
    (folder / "bin").mkdir(parents=True)
    program = folder / "bin" / "java"
    program.write_text(f"#!/bin/sh\ncat >&2 <<'END'\n{says}\nEND\n")
    program.chmod(0o755)


def test_no_java_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither in JAVA_HOME nor on the path."""
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    with pytest.raises(EngineTrouble) as caught:
        check_java()
    assert (
        str(caught.value) == f"--engine spark: there is no Java in JAVA_HOME ({tmp_path}); {LINE}"
    )
    monkeypatch.delenv("JAVA_HOME")
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(EngineTrouble, match=r"^--engine spark: there is no Java; install Java 17"):
        check_java()


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in for Java is a shell script")
@pytest.mark.parametrize(
    ("says", "is_"),
    [
        ('openjdk version "11.0.22" 2024-01-16', "version 11"),
        ('java version "1.8.0_402"', "version 8"),
        ("Error: could not find libjava.so", "of no known version"),
    ],
)
def test_the_wrong_java_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, says: str, is_: str
) -> None:
    """An old one is named with its version."""
    java(tmp_path, says)
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    with pytest.raises(EngineTrouble) as caught:
        check_java()
    assert str(caught.value) == f"--engine spark: {tmp_path / 'bin' / 'java'} is {is_}; {LINE}"


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in for Java is a shell script")
def test_a_good_java_is_good(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """17 and later ones will do."""
    java(tmp_path, 'openjdk version "21.0.1" 2023-10-17')
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    check_java()


@pytest.mark.parametrize("package", ["pyspark", "sqlglot"])
def test_a_missing_package_is_one_line(monkeypatch: pytest.MonkeyPatch, package: str) -> None:
    """The line says how to install it."""
    for name in [name for name in sys.modules if name.split(".")[0] == package]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(EngineTrouble) as caught:
        check_spark()
    assert str(caught.value) == (
        f"--engine spark: {package} is not installed; "
        "install it with: pip install 'replybook[spark]'"
    )


@pytest.mark.filterwarnings("ignore::ResourceWarning")  # pyspark leaves a pipe open
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_java_that_starts_nothing_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What cannot be started is said, whatever Java says about it."""
    java(tmp_path, 'openjdk version "17.0.1" 2023-10-17')
    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    with pytest.raises(EngineTrouble, match=r"^--engine spark: Spark does not start \(\[JAVA"):
        session("local[7]")


SAID = {
    "Job aborted: Lost task 0.3 (TID 4)\nCaused by: java.io.IOException: worker 3 is gone": (
        "set: a part of Spark has failed and could not be replaced (worker 3 is gone)"
    ),
    "Error while calling o1.\n: org.apache.spark.SparkException: [X] so. at org.apache.spark.A": (
        "set: Spark reports: [X] so."
    ),
    "odd": "set: Spark reports: odd",
    "Answer from Java side is empty": (
        "set: Spark has ended while it was asked; run the command again"
    ),
}


@pytest.mark.parametrize("text", SAID)
def test_what_spark_raises_is_one_line(text: str) -> None:
    """Without the names of classes, and with what to do where we know it."""
    from py4j.protocol import Py4JError

    with pytest.raises(EngineTrouble) as caught, spark_errors("set"):
        raise Py4JError(text)
    assert str(caught.value) == SAID[text]


def test_a_connection_that_breaks_and_damage_are_told_apart() -> None:
    """Spark gone, and files that are none."""
    from pyspark.errors import PySparkException

    with pytest.raises(EngineTrouble, match="has ended"), spark_errors("set"):
        raise ConnectionRefusedError(111, "Connection refused")
    with pytest.raises(LibraryDamaged, match=r"^set: the dataset is damaged"), spark_errors("set"):
        raise PySparkException("[FAILED_READ_FILE.NO_HINT] Error while reading file")


def test_without_java_the_tests_of_spark_are_skipped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the reason; in CI they fail."""
    from tests.support.sparks import need_spark

    monkeypatch.setenv("JAVA_HOME", str(tmp_path))
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="no Spark here: --engine spark: there is no"):
        need_spark()
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="tests of Spark must run in CI"):
        need_spark()
    assert "JAVA_HOME" in os.environ
