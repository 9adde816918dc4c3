"""The report of a finished master, on one page that needs nothing else; and one page for a collection."""

from lamphouse.graph.handover.report.write import write_report as write_report
