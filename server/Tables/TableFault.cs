namespace PavementWatch.Server.Tables;

/// <summary>Why a table cannot be read.</summary>
/// <param name="Line">Line of the fault, counted from 1.</param>
/// <param name="Column">Name of the column; empty where it is the whole line.</param>
/// <param name="Found">What was found.</param>
/// <param name="Expected">What was expected.</param>
/// <param name="Remedy">What to do about it.</param>
internal sealed record TableFault(int Line, string Column, string Found, string Expected, string Remedy)
{
    /// <summary>E.g. <c>line 3, column air_celsius</c>.</summary>
    public string Where => Column.Length > 0 ? $"line {Line}, column {Column}" : $"line {Line}";

    /// <summary>The fault as one sentence.</summary>
    public override string ToString() => $"{Where}: {Found}, expected {Expected}; {Remedy}";
}

/// <summary>A table cannot be read; the message says where and why.</summary>
internal sealed class TableException(TableFault fault) : IOException(fault.ToString())
{
    public TableFault Fault => fault;
}
