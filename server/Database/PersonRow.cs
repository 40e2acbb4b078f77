using Microsoft.AspNetCore.Identity;

namespace PavementWatch.Server.Database;

/// <summary>Somebody who signs in: a user of ASP.NET Core Identity, without a password.</summary>
internal sealed class PersonRow : IdentityUser<int>
{
    /// <summary>The name people see; <see cref="IdentityUser{TKey}.UserName"/> in queries.</summary>
    public required string Name
    {
        get => UserName!;
        // Names are told apart as they are written.
        set => UserName = NormalizedUserName = value;
    }

    public required Role Role { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }

    /// <summary>In which unit they read temperatures; both until they have chosen.</summary>
    public TemperatureUnit Unit { get; set; }
}
