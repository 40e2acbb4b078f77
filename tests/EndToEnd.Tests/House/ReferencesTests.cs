using System.Reflection;

using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.House;

/// <summary>Which way the projects point; a new arrow shows here on the day it is drawn.</summary>
public sealed class ReferencesTests
{
    [Theory]
    [InlineData("PavementWatch.Core", "")]
    [InlineData("PavementWatch.Gateway", "PavementWatch.Core")]
    [InlineData("PavementWatch.Dashboards", "PavementWatch.Core")]
    [InlineData("PavementWatch.Server", "PavementWatch.Core PavementWatch.Dashboards PavementWatch.Gateway")]
    public void Project_points_only_where_agreed(string project, string allowed)
    {
        var mayPointAt = allowed.Split(' ', StringSplitOptions.RemoveEmptyEntries);
        var pointsAt = OurReferences(Assembly.Load(project));
        Assert.Empty(pointsAt.Except(mayPointAt));
    }

    [Fact]
    public void Core_needs_nothing_but_the_base_class_library() =>
        Assert.All(
            Assembly.Load("PavementWatch.Core").GetReferencedAssemblies(),
            reference => Assert.StartsWith("System.", reference.Name + ".", StringComparison.Ordinal));

    [Fact]
    public void Only_the_demo_uses_the_gateway_inside_the_server()
    {
        var folder = Path.Combine(SharedData.RepositoryRoot, "server");
        var users = Directory.EnumerateFiles(folder, "*.cs", SearchOption.AllDirectories)
            .Where(file => !file.Contains("/obj/", StringComparison.Ordinal))
            .Where(file => File.ReadAllText(file).Contains("using PavementWatch.Gateway", StringComparison.Ordinal))
            .Select(file => Path.GetRelativePath(folder, file));
        Assert.All(users, file => Assert.StartsWith("Demo" + Path.DirectorySeparatorChar, file, StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("PavementWatch.Core", "Offsets", "Weather")]
    [InlineData("PavementWatch.Gateway", "Sensors", "Buses")]
    [InlineData("PavementWatch.Dashboards", "Days", "Texts")]
    [InlineData("PavementWatch.Server", "Ingest", "Store")]
    public void Folders_of_a_project_point_one_way(string project, string user, string used)
    {
        var arrows = FolderArrows.Of(project);
        // Else nothing was read.
        Assert.Contains((user, used), arrows.All);
        Assert.Empty(arrows.Circles());
    }

    // Another database is then a matter of two folders.
    [Fact]
    public void Only_the_database_and_the_store_know_which_database_it_is()
    {
        var users = FolderArrows.UsersOf("PavementWatch.Server", "Microsoft.Data.Sqlite", "Microsoft.EntityFrameworkCore.Sqlite");
        Assert.Equal(["Database", "Store"], users);
    }

    private static IEnumerable<string> OurReferences(Assembly assembly) =>
        assembly.GetReferencedAssemblies()
            .Select(reference => reference.Name ?? "")
            .Where(name => name.StartsWith("PavementWatch.", StringComparison.Ordinal));
}
