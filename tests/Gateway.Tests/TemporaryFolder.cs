namespace PavementWatch.Gateway.Tests;

/// <summary>A folder of the test's own, gone with it.</summary>
internal sealed class TemporaryFolder : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("pavement-");

    public string this[string name] => Path.Combine(_folder.FullName, name);

    public void Dispose() => _folder.Delete(recursive: true);
}
