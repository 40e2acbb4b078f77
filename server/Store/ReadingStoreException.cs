namespace PavementWatch.Server.Store;

/// <summary>The store could not be read or written just now. Says where, what it answered, and the remedy.</summary>
internal sealed class ReadingStoreException(string message, Exception? cause, StoreFault fault = StoreFault.Other) : Exception(message, cause)
{
    /// <summary>What kind of trouble it is, as far as it matters to others.</summary>
    public StoreFault Fault { get; } = fault;
}
