using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Access;

/// <summary>The address of the pages as other machines know it.</summary>
internal sealed class PublicAddress(IOptions<AccessOptions> access, IConfiguration configuration)
{
    /// <summary>Whether <c>Access:PublicUrl</c> says it.</summary>
    public bool IsSet => access.Value.PublicUrl.Length > 0;

    /// <summary>Without a slash at its end; <c>Access:PublicUrl</c>, or the first of <c>Urls</c>.</summary>
    public string Text =>
        (IsSet ? access.Value.PublicUrl : configuration["Urls"]?.Split(';')[0] ?? "http://localhost:5080").TrimEnd('/');

    /// <summary>Whether people come by https, to this server itself or to a proxy before it.</summary>
    public bool IsHttps => Text.StartsWith("https://", StringComparison.OrdinalIgnoreCase);
}
