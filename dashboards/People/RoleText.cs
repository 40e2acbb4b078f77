using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.People;

/// <summary>Roles as people read and choose them.</summary>
public static class RoleText
{
    /// <summary>The role's word.</summary>
    public static string Of(Role role) => role switch
    {
        Role.Walker => "walker",
        Role.Analyst => "analyst",
        Role.Business => "business",
        _ => "unknown",
    };

    /// <summary>Reads a role by its word or name, in letters of either case; numbers are none.</summary>
    public static bool TryParse(string? text, out Role role)
    {
        role = default;
        foreach (var known in Enum.GetValues<Role>())
        {
            if (!string.Equals(text, Of(known), StringComparison.OrdinalIgnoreCase))
                continue;
            role = known;
            return true;
        }

        return false;
    }
}
