using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Access;

/// <summary>The address of the pages as other machines know it.</summary>
internal sealed class PublicAddress(IOptions<AccessOptions> access, IConfiguration configuration)
{
    /// <summary>Without a slash at its end; <c>Access:PublicUrl</c>, or the first of <c>Urls</c>.</summary>
    public string Text =>
        (access.Value.PublicUrl.Length > 0 ? access.Value.PublicUrl : configuration["Urls"]?.Split(';')[0] ?? "http://localhost:5080")
        .TrimEnd('/');
}
