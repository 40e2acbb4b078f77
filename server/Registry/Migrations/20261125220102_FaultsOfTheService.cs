using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Registry.Migrations
{
    /// <inheritdoc />
    public partial class FaultsOfTheService : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AlterColumn<int>(
                name: "EventId",
                table: "BusinessNotices",
                type: "INTEGER",
                nullable: true,
                oldClrType: typeof(int),
                oldType: "INTEGER");

            migrationBuilder.AddColumn<int>(
                name: "FaultId",
                table: "BusinessNotices",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<bool>(
                name: "SaysEnded",
                table: "BusinessNotices",
                type: "INTEGER",
                nullable: false,
                defaultValue: false);

            migrationBuilder.CreateTable(
                name: "Faults",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Key = table.Column<string>(type: "TEXT", nullable: false),
                    Words = table.Column<string>(type: "TEXT", nullable: false),
                    Since = table.Column<long>(type: "INTEGER", nullable: false),
                    EndedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Faults", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_BusinessNotices_FaultId_SaysEnded_Way",
                table: "BusinessNotices",
                columns: new[] { "FaultId", "SaysEnded", "Way" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Faults_Key",
                table: "Faults",
                column: "Key",
                unique: true,
                filter: "\"EndedAt\" IS NULL");

            migrationBuilder.AddForeignKey(
                name: "FK_BusinessNotices_Faults_FaultId",
                table: "BusinessNotices",
                column: "FaultId",
                principalTable: "Faults",
                principalColumn: "Id",
                onDelete: ReferentialAction.Cascade);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropForeignKey(
                name: "FK_BusinessNotices_Faults_FaultId",
                table: "BusinessNotices");

            migrationBuilder.DropTable(
                name: "Faults");

            migrationBuilder.DropIndex(
                name: "IX_BusinessNotices_FaultId_SaysEnded_Way",
                table: "BusinessNotices");

            migrationBuilder.DropColumn(
                name: "FaultId",
                table: "BusinessNotices");

            migrationBuilder.DropColumn(
                name: "SaysEnded",
                table: "BusinessNotices");

            migrationBuilder.AlterColumn<int>(
                name: "EventId",
                table: "BusinessNotices",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0,
                oldClrType: typeof(int),
                oldType: "INTEGER",
                oldNullable: true);
        }
    }
}
