namespace PavementWatch.Dashboards.Hosting;

/// <summary>The secret of a private link. The host takes it out of the request's address, so that no log can hold it, and leaves it here among the request's features.</summary>
/// <param name="Token">The unguessable part.</param>
/// <param name="Path">The path as the visitor opened it.</param>
public sealed record LinkSecret(string Token, string Path);
