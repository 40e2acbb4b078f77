using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.House;

/// <summary>Packages are locked, to the byte, wherever they are taken from.</summary>
public sealed class LockFilesTests
{
    [Fact]
    public void Each_project_has_its_lock_file_and_none_names_where_packages_come_from()
    {
        var folders = Directory.EnumerateFiles(SharedData.RepositoryRoot, "*.csproj", SearchOption.AllDirectories)
            .Select(project => Path.GetDirectoryName(project)!).Where(folder => !folder.Contains("artifacts", StringComparison.Ordinal)).ToList();
        Assert.True(folders.Count > 5);
        Assert.All(folders, folder => Assert.True(File.Exists(Path.Combine(folder, "packages.lock.json")), $"{folder} has no packages.lock.json; run dotnet restore"));
        Assert.All(
            folders.SelectMany(folder => Directory.EnumerateFiles(folder, "packages*.lock.json")),
            file => Assert.DoesNotContain("://", File.ReadAllText(file), StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("linux-arm64")]
    [InlineData("linux-arm")]
    [InlineData("linux-x64")]
    public void Each_machine_of_the_gateway_has_lock_files_of_its_own(string machine) =>
        Assert.All(["core", "gateway"], project => Assert.Contains(
            $"\"net10.0/{machine}\"", File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, project, $"packages.{machine}.lock.json")), StringComparison.Ordinal));
}
