namespace PavementWatch.Server.Store;

/// <summary>The store could not be read or written just now. Says where, what it answered, and the remedy.</summary>
internal sealed class ReadingStoreException(string message, Exception? cause) : Exception(message, cause);
