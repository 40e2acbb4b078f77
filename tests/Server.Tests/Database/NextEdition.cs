using System.Reflection;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using Microsoft.EntityFrameworkCore.Migrations.Internal;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Tests.Database;

/// <summary>The tables of an edition to come: those of this one, and one more.</summary>
[Migration(Name)]
internal sealed class NextEdition : Migration
{
    public const string Name = "20990101000000_Next";

    /// <summary>Gives a server this migration beside its own.</summary>
    public static void Add(IServiceCollection services) =>
        services.ConfigureDbContext<RegistryDb>(options => options.ReplaceService<IMigrationsAssembly, WithNext>());

    protected override void Up(MigrationBuilder migrationBuilder) => migrationBuilder.Sql("CREATE TABLE Next (Id INTEGER)");

#pragma warning disable EF1001 // What a server has for migrations is asked of this class alone.
    private sealed class WithNext(
        ICurrentDbContext context, IDbContextOptions options, IMigrationsIdGenerator ids, IDiagnosticsLogger<DbLoggerCategory.Migrations> logger)
        : MigrationsAssembly(context, options, ids, logger)
    {
        public override IReadOnlyDictionary<string, TypeInfo> Migrations =>
            new SortedList<string, TypeInfo>(base.Migrations.ToDictionary()) { [Name] = typeof(NextEdition).GetTypeInfo() };
    }
#pragma warning restore EF1001
}
